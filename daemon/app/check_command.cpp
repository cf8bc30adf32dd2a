#include "app/check_command.h"

#include <algorithm>
#include <variant>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "alerts/destination.h"
#include "app/check_page.h"
#include "app/page_wiring.h"
#include "dosing/plan_fit.h"
#include "page/server.h"
#include "rules/for_people.h"
#include "rules/owner_sentence.h"
#include "units/visitor.h"

namespace limegate::app {
namespace {

std::string sentences(const mqtt::Settings& mqtt) {
  return fmt::format(
      "MQTT: published at {}:{} {} below {}/5/{}. From afar one can pause, end such a pause, "
      "acknowledge, and lower a day's volume; and what an mqtt_topic brings can hold back or stop "
      "doing so, by the rules below its station.\n",
      mqtt.host, mqtt.port,
      mqtt.transport == mqtt::Settings::Transport::tls ? "over TLS" : "without TLS", mqtt.domain,
      mqtt.device);
}

std::string sentences(const alerts::Delivery& deliver) {
  std::string out = "Messages to people:";
  for (const alerts::Destination& one : deliver.destinations) {
    const std::string way = std::visit(
        Visitor{[](const alerts::Mail& mail) {
                  return "mail to " + mail.to.front() + " by " + mail.host;
                },
                [](const alerts::Webhook&) { return std::string{"a webhook"}; },
                [](const alerts::Program& program) { return "the program " + program.path; }},
        one.way);
    out += fmt::format(" {} ({}{}{}).", one.name, way,
                       one.after > Duration::zero()
                           ? ", if nobody has seen it in " + rules::for_people(one.after)
                           : "",
                       one.least == alerts::Urgency::when_you_can
                           ? ""
                           : std::string{", from "} + alerts::name_of(one.least) + " up");
  }
  return out + " limegate-deliver brings them: try it with limegate alerts test.\n";
}

std::string sentences(const page::Settings& page) {
  const bool may_change = !std::holds_alternative<std::monostate>(page.token);
  std::string out = fmt::format("Page: at {}", page::address_of(page));
  for (const std::string& name : {page.host, page.https_origin}) {
    out += name.empty() ? "" : ", also as " + name;
  }
  out += may_change
             ? fmt::format(
                   ".\n  Who has the token may do there, on this machine{}, what a person at the "
                   "station\n    may, and from elsewhere only hold back.\n",
                   page.https_origin.empty() ? "" : " and by https")
             : ", to read only: it has no token_file.\n";
  if (const std::string remark = token_of(page).remark; !remark.empty()) {
    out += "  " + remark + "\n";
  }
  if (const std::string objection = page::objection_to(page); !objection.empty()) {
    out += "  " + objection +
           " If the daemon runs, it may be its own; else dosing goes on without a page.\n";
  }
  return out;
}

nlohmann::json json_of(const config::Station& station) {
  const dosing::PlanSettings& plan = station.settings.plan;
  const rules::Limits& limits = station.settings.limits;
  const dosing::PlanShape shape = dosing::shape_of(plan);
  const double fullest = fullest_window(station);
  nlohmann::json own = nlohmann::json::array();
  for (const rules::OwnerRule& rule : station.settings.owner.rules) {
    own.push_back({{"name", rule.name},
                   {"sentence", rules::sentence_of(rule, station.settings.owner.inputs)}});
  }
  return {{"name", station.settings.name},
          {"simulated", !station.wiring.has_value()},
          {"day_volume_ml", plan.day_volume.count()},
          {"clear_window_min", in_minutes(shape.clear_window)},
          {"windows_per_day", shape.windows_per_day},
          {"pulses_per_window", shape.pulses_per_window},
          {"pulse_ml", shape.pulse_volume.count()},
          {"pulse_s", in_seconds(shape.pulse_duration)},
          {"fullest_hour_ml", dosing::shape_of(plan, fullest).hour_volume.count()},
          {"upflow_mm_h", dosing::upflow_of(plan, fullest).speed.count()},
          {"max_hour_ml", limits.hour.count()},
          {"max_day_ml", limits.day.count()},
          {"volume_up_to_ml", dosing::most_a_day(plan, station::plan_bounds(limits)).count()},
          {"ph_ceiling", limits.ceiling.count()},
          {"settle_min", in_minutes(limits.settle)},
          {"rules", std::move(own)}};
}

}  // namespace

std::string asked_back(const config::Questions& questions) {
  std::string out;
  for (const config::Question& question : questions.open) {
    out += fmt::format("Question {}, {}: {}\n  If it is right as it stands: {}\n", question.id,
                       question.key, question.sentence, question.answer);
  }
  return out;
}

std::string explain(const config::Config& config, const config::Questions& questions,
                    Format format) {
  if (format == Format::json) {
    nlohmann::json out{{"valid", true},
                       {"state_dir", config.state_dir},
                       {"witness_dir", config.witness_dir},
                       {"warnings", config.warnings},
                       {"questions", nlohmann::json::array()}};
    for (const std::string& warning : questions.warnings) {
      out["warnings"].push_back(warning);
    }
    for (const config::Question& question : questions.open) {
      out["questions"].push_back({{"id", question.id},
                                  {"key", question.key},
                                  {"sentence", question.sentence},
                                  {"answer", question.answer}});
    }
    for (const config::Station& station : config.stations) {
      out["stations"].push_back(json_of(station));
    }
    return out.dump(2) + "\n";
  }
  std::string out;
  for (const config::Station& station : config.stations) {
    out += page_of(config, station);
  }
  if (config.mqtt) {
    out += sentences(*config.mqtt);
  }
  if (config.page) {
    out += sentences(*config.page);
  }
  if (config.deliver) {
    out += sentences(*config.deliver);
  }
  for (const std::string& warning : config.warnings) {
    out += "Warning: " + warning + "\n";
  }
  for (const std::string& warning : questions.warnings) {
    out += "Warning: " + warning + "\n";
  }
  if (std::any_of(config.stations.begin(), config.stations.end(),
                  [](const config::Station& station) { return station.wiring.has_value(); })) {
    out +=
        "One machine runs one daemon on an outlet. Two machines can't see each other: see to it "
        "that no other one switches these outlets.\nKnown of the ledger outside its directory: " +
        config.witness_dir + "\n";
  }
  out += "Ledger and records: " + config.state_dir + "\n";
  const std::size_t open = questions.open.size();
  return out + asked_back(questions) +
         (open == 0 ? "The config is valid.\n"
                    : fmt::format("The config can be read, and {} of it wait{} for your answer: "
                                  "correct it, or confirm it.\n",
                                  open == 1 ? "one question" : fmt::format("{} questions", open),
                                  open == 1 ? "s" : ""));
}

std::string explain(const config::Problems& problems, const std::string& file, Format format) {
  if (format == Format::json) {
    nlohmann::json out{{"valid", false}, {"file", file}, {"problems", nlohmann::json::array()}};
    for (const config::Problem& problem : problems) {
      out["problems"].push_back(
          {{"line", problem.line}, {"key", problem.key}, {"what", problem.what}});
    }
    return out.dump(2) + "\n";
  }
  // What comes of one mistake comes first; nobody reads hundreds.
  constexpr std::size_t most = 100;
  std::string out;
  for (std::size_t i = 0; i < std::min(most, problems.size()); ++i) {
    out += problems[i].to_string(file) + "\n";
  }
  return out + (problems.size() > most
                    ? fmt::format("{}: {} more are not shown.\n", file, problems.size() - most)
                    : "");
}

}  // namespace limegate::app
