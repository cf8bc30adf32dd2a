#include "app/check_command.h"

#include <algorithm>
#include <chrono>
#include <variant>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "alerts/destination.h"
#include "config/site_bounds.h"
#include "dosing/plan_fit.h"
#include "rules/owner_sentence.h"
#include "station/reference.h"
#include "units/visitor.h"

namespace limegate::app {
namespace {

std::string limits_of(const config::Station& station) {
  const rules::Limits& limits = station.settings.limits;
  std::string out = "  Dosing is held\n";
  out += fmt::format("    at pH {:.2f} and above, until it is below {:.2f} again;\n",
                     limits.ceiling.count(), limits.ceiling_resume.count());
  out += fmt::format("    at pH {:.2f} until a person at the station releases it;\n",
                     limits.second_ceiling.count());
  out += fmt::format(
      "    when pH climbed by {:.2f} or more within {:.0f} min, and while nobody has watched it "
      "for "
      "so long;\n",
      limits.climb.count(), in_minutes(limits.climb_window));
  out += fmt::format(
      "    when pH climbed above its usual course, once a week has taught it: by {:.3f} within "
      "{:.0f} "
      "h, {:.3f} beyond {:.2f} an hour, or {:.3f} above the mean of two days;\n"
      "    when it goes on so by {:.2f} for {:.0f} min although the pump rests, until a person "
      "at the station releases it;\n",
      limits.unusual_climb.count(), in_minutes(signal::JoinedClimb::kWindow) / 60.0,
      limits.unusual_climb.count() * signal::JoinedClimb::share(signal::Pace::quick),
      limits.climb_allowance_per_h.count(),
      limits.unusual_climb.count() * signal::JoinedClimb::share(signal::Pace::lasting),
      limits.climb_goes_on.count(), in_minutes(limits.climb_goes_on_for));
  const auto& reference = station.settings.reference;
  out += fmt::format(
      "    when pH is {:.2f} or more above {}; for an hour of it the day's volume is eased by "
      "{:.0f} %, "
      "and "
      "after each calm day {:.0f} % of it come back;\n",
      limits.rise.count(),
      reference ? fmt::format("its reference, pH {:.2f} in the mean of a day", reference->count())
                : "its reference, once undosed days have shown it before dosing begins",
      100.0 * (1.0 - station::Reference::kEases), 100.0 * station::Reference::kStepsUp);
  out += fmt::format(
      "    when the doses of a day raise the pH {:.1f} times as much as they usually do, until a "
      "person at the station releases it; below three tenths a person is told;\n",
      limits.effect_too_large);
  out += fmt::format(
      "    without good pH and temperature readings of the last {:.0f} s (pH while the pump runs: "
      "{:.0f} s), and for the first {:.0f} min after each start;\n",
      in_seconds(limits.reading_age_max), in_seconds(limits.reading_age_flowing),
      in_minutes(limits.proven));
  if (station.settings.second_ph) {
    out += fmt::format(
        "    when its two pH probes differ by {:.2f} or more for {:.0f} min, or by {:.2f} at once; "
        "of both the higher one counts;\n",
        limits.ph_disagreement.count(), in_minutes(limits.ph_disagreement_for),
        limits.ph_disagreement.count() * rules::kDisagreesAtOnce);
  }
  out += fmt::format("    outside pH {:.1f} to {:.1f} and {:.0f} to {:.0f} °C;\n",
                     limits.ph_plausible_low, limits.ph_plausible_high,
                     limits.temperature_plausible_low, limits.temperature_plausible_high);
  out += fmt::format(
      "    beyond {:.1f} mL in any hour and {:.1f} mL in any 24 hours;\n"
      "    while the stirrer runs and for {:.0f} min after; when an outlet is not confirmed to be "
      "off; when the ledger can't be written.\n",
      limits.hour.count(), limits.day.count(), in_minutes(limits.settle));
  return out;
}

/// What chemistry makes of the pulses. An estimate, and called one.
std::string chemistry_of(const config::Station& station) {
  const rules::Limits& limits = station.settings.limits;
  const station::SiteWater& water = station.settings.water;
  if (!water.alkalinity) {
    return "  No alkalinity_dkh is given, so every volume is sized for water of a low pH and "
           "alkalinity.\n";
  }
  std::string at;
  for (const Ph ph : {config::kLowPh, Ph{8.2}, config::kHighPh}) {
    const auto pulse = config::volume_at(ph, limits.pulse_rise, water);
    const auto hour = config::volume_at(ph, limits.hour_rise, water);
    if (pulse && hour) {
      at += fmt::format("{}{:.1f} and {:.1f} mL at pH {:.1f}", at.empty() ? "" : ", ",
                        std::min(*pulse, station.settings.plan.pulse_max).count(),
                        std::min(*hour, limits.hour).count(), ph.count());
    }
  }
  return fmt::format(
      "  At {:.1f} dKH a pulse may raise the pH by an estimated {:.2f}, and an hour's by {:.2f}: "
      "at most {}.\n",
      water.alkalinity->count(), limits.pulse_rise.count(), limits.hour_rise.count(), at);
}

/// In times of the even share: what the fullest window may come to.
double fullest_window(const config::Station& station) {
  const dosing::PlanSettings& plan = station.settings.plan;
  const double most = dosing::most_weight(plan, station::plan_bounds(station.settings.limits));
  const bool takes_all = plan.spread == dosing::Spread::levelling ||
                         plan.missed == dosing::PlanSettings::Missed::made_up;
  return std::max(dosing::fullest_weight(plan), takes_all ? most : 1.0);
}

/// How the plan departs from the same in each window.
std::string spread_of(const config::Station& station) {
  const dosing::PlanSettings& plan = station.settings.plan;
  const double most = dosing::most_weight(plan, station::plan_bounds(station.settings.limits));
  const auto window = [&](double weight) { return dosing::shape_of(plan, weight).window_volume; };
  std::string out;
  if (plan.spread == dosing::Spread::night) {
    const double length = in_minutes(plan.night.length()) / 60.0;
    out = fmt::format(
        "  {:.0f} % of it is given from {}: {:.1f} mL in a window there, {:.1f} mL in any other.\n",
        100.0 * plan.night_share, for_people(plan.night),
        window(24.0 / length * plan.night_share).count(),
        window(24.0 / (24.0 - length) * (1.0 - plan.night_share)).count());
  } else if (plan.spread == dosing::Spread::levelling) {
    out = fmt::format(
        "  Once the usual course of the pH is learned, more of it is given where the pH is "
        "expected lowest: at most {:.1f} mL in a window, at least {:.1f}. Evenly until then.\n",
        window(most).count(), window(dosing::kLeastWeight).count());
  }
  return out + (plan.missed == dosing::PlanSettings::Missed::dropped
                    ? "  What a window misses is dropped.\n"
                    : fmt::format("  What a window misses is made up within 24 h, with at most "
                                  "{:.1f} mL in a window; not what the pH held back.\n",
                                  window(most).count()));
}

/// Each rule read back as one sentence.
std::string rules_of(const config::Station& station) {
  const rules::OwnerRulebook& book = station.settings.owner;
  std::string out = book.rules.empty() ? "" : "  The owner's rules, which only withhold\n";
  for (const rules::OwnerRule& rule : book.rules) {
    out += fmt::format("    {}: {}\n", rule.name, rules::sentence_of(rule, book.inputs));
  }
  return out;
}

std::string sentences(const config::Station& station) {
  const dosing::PlanSettings& plan = station.settings.plan;
  const dosing::PlanShape shape = dosing::shape_of(plan);
  std::string out =
      fmt::format("Station {}{}\n", station.settings.name, station.wiring ? "" : " (simulated)");
  out += fmt::format(
      "  {:.0f} L of water; {:.0f} mL evaporate each day; reactor bore {:.0f} mm; "
      "pump at most {:.1f} mL/min.\n",
      station.site.water.count(), station.site.evaporation_per_day.count(),
      station.site.reactor_bore.count(), plan.pump_rate.count());
  out += fmt::format(
      "  The stirrer {} {:.0f} min every {:.0f} min; then the limewater settles for {:.0f} min: "
      "{:.0f} min of each cycle are clear.\n",
      station.settings.stirrer == station::StirrerKind::switched ? "runs" : "is expected to run",
      in_minutes(plan.stir.run), in_minutes(plan.stir.every), in_minutes(plan.settle),
      in_minutes(shape.clear_window));
  if (shape.pulses_per_window == 0) {
    return out + "  Nothing is dosed: the day's volume is zero.\n" + limits_of(station) +
           rules_of(station);
  }
  const double fullest = fullest_window(station);
  out += fmt::format(
      "  {:.1f} mL a day = {:.1f} mL in each of {:.1f} clear windows = {} pulses of {}{:.2f} mL "
      "and {:.1f} s, one every {:.1f} min; {:.1f} mL in the fullest hour.\n",
      plan.day_volume.count(), dosing::even_share(plan).count(), shape.windows_per_day,
      shape.pulses_per_window, shape.steps % shape.pulses_per_window == 0 ? "" : "at most ",
      shape.pulse_volume.count(), in_seconds(shape.pulse_duration), in_minutes(shape.slot),
      dosing::shape_of(plan, fullest).hour_volume.count());
  // Steps below what anybody measures a pump by are not worth a sentence.
  if (const Millilitres step = dosing::least_pulse(plan); step > Millilitres{1.0}) {
    out += fmt::format(
        "  The board's timer ends a pulse in steps of {:.1f} s = {:.2f} mL. What a window can't "
        "give in whole steps the next ones give.\n",
        in_seconds(plan.timer_step), step.count());
  }
  out += fmt::format(
      "  That is {:.0f} % of the evaporation, and at most {:.0f} mm/h upflow in the reactor "
      "(warned above {:.0f}, refused above {:.0f}).\n",
      100.0 * (plan.day_volume / station.site.evaporation_per_day),
      dosing::upflow_of(plan, fullest).speed.count(), dosing::kUpflowWarn.count(),
      dosing::kUpflowBound.count());
  return out + spread_of(station) + chemistry_of(station) + limits_of(station) + rules_of(station);
}

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
    out += sentences(station);
  }
  if (config.mqtt) {
    out += sentences(*config.mqtt);
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
  std::string out;
  for (const config::Problem& problem : problems) {
    out += problem.to_string(file) + "\n";
  }
  return out;
}

}  // namespace limegate::app
