#include "app/rehearse_command.h"

#include <algorithm>
#include <cerrno>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <fstream>
#include <memory>
#include <optional>
#include <string>
#include <system_error>
#include <utility>
#include <vector>

#include <fmt/format.h>
#include <nlohmann/json.hpp>
#include <unistd.h>

#include "app/campaign_parts.h"
#include "app/check_command.h"
#include "app/exit_code.h"
#include "app/given_config.h"
#include "app/output_file.h"
#include "app/rehearsal_report.h"
#include "app/rehearsal_words.h"
#include "files/new_file.h"
#include "rehearsal/campaign.h"
#include "rehearsal/rehearsal.h"
#include "report/document.h"

namespace limegate::app {
namespace {

using nlohmann::json;

/// The time stands in the board's own unit, which the config does not tell.
constexpr Duration kCommunicationLoss = std::chrono::seconds{10};

struct Given {
  std::string file;
  double days = 7;
  std::uint64_t seed = 1;
  std::size_t seeds = 0;
  std::vector<std::string> faults, merge;
  std::string report, series, station;
  bool json = false, keeper = false;
};

/// One line that is drawn over itself, for people who wait.
class Progress {
 public:
  explicit Progress(std::size_t all) : all_(all), shown_(isatty(STDERR_FILENO) == 1) {}
  void show(std::size_t done) const {
    if (!shown_) {
      return;
    }
    const double passed =
        std::chrono::duration<double>(std::chrono::steady_clock::now() - began_).count();
    const std::string left =
        done == 0 ? "" : fmt::format("{:.0f} s left", passed / double(done) * double(all_ - done));
    std::fputs(fmt::format("\r{:>6} of {} courses  {:<20}", done, all_, left).c_str(), stderr);
    if (done == all_) {
      std::fputs("\n", stderr);
    }
  }

 private:
  std::size_t all_;
  bool shown_;
  std::chrono::steady_clock::time_point began_ = std::chrono::steady_clock::now();
};

/// What the boards of a config do by themselves; those of a simulated station do all they should.
rehearsal::Rehearsal::Plan::Boards boards_of(const config::Station& station) {
  rehearsal::Rehearsal::Plan::Boards boards;
  if (station.wiring) {
    const config::Wiring& wiring = *station.wiring;
    boards.pump_timed = wiring.pump.outlet.timed_on.has_value();
    boards.stirrer_timed =
        wiring.stirrer_outlet && wiring.stirrer_outlet->outlet.timed_on.has_value();
    if (wiring.pump.outlet.communication_loss) {
      boards.communication_loss = kCommunicationLoss;
    }
  }
  return boards;
}

/// What was asked for, as a plan without a station. Error: one line.
tl::expected<rehearsal::Rehearsal::Plan, std::string> plan_of(const Given& given) {
  rehearsal::Rehearsal::Plan plan;
  plan.lasting = std::chrono::floor<std::chrono::seconds>(
      std::chrono::duration<double, std::ratio<86400>>(given.days));
  if (given.keeper) {
    plan.keeper = rehearsal::Rehearsal::Plan::Keeper::comes_twice_a_day;
  }
  for (const std::string& text : given.faults) {
    const auto fault = rehearsal::parse_fault(text, plan.lasting);
    if (!fault) {
      return tl::unexpected(fault.error());
    }
    plan.faults.push_back(*fault);
  }
  for (const auto& [path, ending] : {std::pair{given.report, ".html"}, {given.series, ".csv"}}) {
    if (const auto why = objection_to_output(path, ending, given.file); !why.empty()) {
      return tl::unexpected(why);
    }
  }
  return plan;
}

/// What all stations came to.
struct Told {
  json list = json::array();
  RehearsalReport page;
  CampaignOf of;
  bool kept = true;  ///< every promise
  void say(const Given& given, const json& as_json, const std::string& words) {
    if (given.json) {
      list.push_back(as_json);
    } else {
      std::fputs(words.c_str(), stdout);
    }
  }
  [[nodiscard]] int end(const Given& given) const {
    if (given.json) {
      std::fputs((list.dump(2) + "\n").c_str(), stdout);
    }
    return kept ? kFine : kNotConfirmed;
  }
};

/// What replays a single course.
std::string again(const Given& given) {
  std::string command = fmt::format("  again: limegate rehearse {} --days {} --seed {}", given.file,
                                    given.days, given.seed);
  for (const std::string& fault : given.faults) {
    command += " --fault " + fault;
  }
  return fmt::format("{}{}{}\n", command,
                     given.station.empty() ? "" : " --station " + given.station,
                     given.keeper ? " --keeper" : "");
}

tl::expected<void, std::string> rehearse(const Given& given, const config::Station& station,
                                         const rehearsal::Rehearsal::Plan& plan, Told& told) {
  if (given.seeds > 0) {
    const Progress progress{given.seeds};
    const auto sum = rehearsal::run_campaign(plan, given.seed, given.seeds,
                                             [&](std::size_t done) { progress.show(done); });
    if (!sum) {
      return tl::unexpected(sum.error());
    }
    told.kept = told.kept && sum->broken.empty();
    const Campaign campaign{given.file, station.settings.name, given.days, given.seed, given.seeds};
    told.say(given, part_of(*sum, campaign, told.of), words_of(*sum, campaign));
    return {};
  }
  const auto outcome = rehearsal::Rehearsal{plan}.run();
  if (!outcome) {
    return tl::unexpected(outcome.error());
  }
  told.kept = told.kept && outcome->violations.empty();
  if (!given.report.empty()) {
    told.page.add(station, *outcome);
  }
  told.say(given, json_of(*outcome, station),
           words_of(*outcome, station) + (outcome->violations.empty() ? "" : again(given)));
  return {};
}

int show_merged(const Given& given, const std::vector<Merged>& merged, const CampaignOf& of) {
  Told told{json::array(), RehearsalReport{given.file}, of};
  for (const Merged& one : merged) {
    if (!given.station.empty() && one.given.station != given.station) {
      continue;
    }
    told.kept = told.kept && one.sum.broken.empty();
    told.say(given, part_of(one.sum, one.given, of), words_of(one.sum, one.given));
  }
  return told.end(given);
}

/// Each station that is asked for.
tl::expected<void, std::string> rehearse_each(const Given& given, const config::Config& config,
                                              rehearsal::Rehearsal::Plan& plan, Told& told) {
  for (const config::Station& station : config.stations) {
    if (!given.station.empty() && station.settings.name != given.station) {
      continue;
    }
    plan.settings = station.settings;
    plan.settings.begins_with.reset();  // what is rehearsed is the plan of the file
    plan.tank = station.tank;
    plan.tank.seed = given.seed;
    plan.boards = boards_of(station);
    if (auto done = rehearse(given, station, plan, told); !done) {
      return done;
    }
  }
  return {};
}

int rehearse(const Given& given) {
  const auto refused = [](const std::string& why) {
    std::fputs((why + (why.ends_with('\n') ? "" : "\n")).c_str(), stderr);
    return kBadInput;
  };
  const auto config = load_given(given.file);
  if (!config) {
    return refused(explain(config.error(), given.file, Format::people));
  }
  if (const auto wrong = objection_to_station(config->config, given.station); !wrong.empty()) {
    std::fputs(wrong.c_str(), stderr);
    return kBadInput;
  }
  const CampaignOf of = campaign_of(config->text, given.days);
  if (!given.merge.empty()) {
    const auto merged = merge_parts(given.merge, given.file, of);
    return merged ? show_merged(given, *merged, of) : refused(merged.error());
  }
  auto plan = plan_of(given);
  if (!plan) {
    return refused(plan.error());
  }
  std::ofstream series;
  if (!given.series.empty()) {
    series.open(given.series, std::ios::binary);
    rehearsal::Series::begin(series);
    plan->series = &series;
  }
  if (!series) {
    return refused(not_written(given.series, std::generic_category().message(errno)));
  }
  // Begun before anything is rehearsed: where nothing can be written is told at once.
  std::optional<files::NewFile> page;
  if (!given.report.empty()) {
    auto begun = files::NewFile::begin(given.report);
    if (!begun) {
      return refused(not_written(given.report, begun.error()));
    }
    page.emplace(std::move(*begun));
  }
  Told told{json::array(), RehearsalReport{given.file}, of};
  if (const auto done = rehearse_each(given, config->config, *plan, told); !done) {
    return refused(done.error());
  }
  if (page) {
    page->write(report::page_of(told.page.document()));
    if (const auto written = page->finish(); !written) {
      return refused(not_written(given.report, written.error()));
    }
  }
  const int came_to = told.end(given);
  if (!given.series.empty() && !series.flush()) {
    return refused(given.series +
                   ": the disk did not take all of it. Name a file in a folder that has room.");
  }
  return came_to;
}

/// How long it lasts and how much it is, where neither is said.
std::string defaults_of(const rehearsal::FaultKind& kind) {
  std::string text =
      kind.lasting > Duration::zero() ? ":" + rehearsal::time_text(kind.lasting) : "";
  text += kind.value != 0 ? fmt::format("={:g}", kind.value) : "";
  return text.empty() ? "" : fmt::format(" [{}]", text);
}

}  // namespace

void add_rehearse_command(CLI::App& app, int& code) {
  const auto given = std::make_shared<Given>();
  std::string names =
      "Something that goes wrong, NAME@TIME[:DURATION][=VALUE]; may be repeated. In brackets what "
      "is meant without DURATION and VALUE:";
  for (const rehearsal::FaultKind& kind : rehearsal::fault_kinds()) {
    names += fmt::format("\n  {:<20} {}{}", kind.name, kind.about, defaults_of(kind));
  }
  CLI::App* command = app.add_subcommand(
      "rehearse",
      "Run a config against a simulated tank in virtual time, before animals depend on it");
  command->add_option("CONFIG", given->file, "The owner's file")->required();
  command->add_option("--days", given->days, "How long")
      ->check(CLI::Range(0.1, 3660.0))
      ->check([](const std::string& text) {
        // A range lets "not a number" pass.
        return std::isnan(std::strtod(text.c_str(), nullptr)) ? "must be a number" : "";
      })
      ->capture_default_str();
  command->add_option("--seed", given->seed, "The same seed gives the same course")
      ->capture_default_str();
  command
      ->add_option("--seeds", given->seeds,
                   "A campaign: so many courses with faults drawn at random, over all cores, and a "
                   "keeper who comes twice a day")
      ->check(CLI::Range(1, 1000000))
      ->excludes(command->add_option("--fault", given->faults, names))
      ->excludes(
          command->add_option("--report", given->report,
                              "Write one page here with charts and tables, to be read or printed"))
      ->excludes(command->add_option("--series", given->series,
                                     "Write a row for each minute here, as comma-separated "
                                     "values: what is true, what is shown, what is held"));
  command
      ->add_option(
          "--merge", given->merge,
          "Adds up parts of one campaign, each printed by --seeds with --json, with its own "
          "--seed, and the same --days")
      ->excludes("--seeds")
      ->excludes("--fault")
      ->excludes("--report")
      ->excludes("--series");
  command
      ->add_flag("--keeper", given->keeper,
                 "Somebody comes twice a day: releases what is mended, pauses, primes the lines")
      ->excludes("--seeds");
  command->add_option("--station", given->station, "Only this one, where there are several");
  command->add_flag("--json", given->json, "For scripts");
  command->callback([=, &code] { code = rehearse(*given); });
}

}  // namespace limegate::app
