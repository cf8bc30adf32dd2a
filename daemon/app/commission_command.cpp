#include "app/commission_command.h"

#include <memory>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "app/asking.h"
#include "app/commission_station.h"
#include "app/commission_steps.h"
#include "app/exit_code.h"
#include "app/keepers_answers.h"
#include "care/commission.h"
#include "care/commission_words.h"
#include "care/entry_reader.h"
#include "rules/hold.h"
#include "station/command.h"
#include "units/iso8601.h"

namespace limegate::app {
namespace {

using care::Step;
using care::StepShown;
using care::StepTaken;
using nlohmann::json;
using Shown = CommissionStation::Shown;

struct Given : Meant {
  std::optional<std::string> done, skipped;
};

bool is_open(const StepShown& one) {
  return one.state == StepShown::State::open || one.state == StepShown::State::next;
}

/// What must not run by itself at this step, and does; empty: nothing. Once dosing has begun, what
/// is taken up again withholds nothing.
struct Withheld {
  bool volume = false;   ///< is to become 0
  bool outlets = false;  ///< are to go off, and to stay off
  [[nodiscard]] bool any() const { return volume || outlets; }
};
Withheld to_withhold(Step step, const std::vector<StepShown>& steps, const Shown& shown) {
  if (!is_open(steps.back()) || step == Step::half_dose) {
    return {};
  }
  const bool off = shown.holds(rules::code_of(rules::SwitchedOff{}));
  return {shown.day_volume.count() > 0.0, step < Step::settle && !off};
}

/// Whether it is withheld. Error: the ExitCode.
tl::expected<bool, int> withhold(CommissionStation& station, const Withheld& what) {
  if (what.volume) {
    const auto set = station.command(station::name_of(station::SetDayVolume{}), {{"ml", 0.0}});
    if (!set || !*set) {
      return set;
    }
  }
  return what.outlets ? station.command(station::name_of(station::SwitchAllOff{}))
                      : tl::expected<bool, int>{true};
}

/// Before a step at the terminal: nothing runs by itself. Error: the ExitCode to leave with.
tl::expected<void, int> make_ready(CommissionStation& station, Step step,
                                   const std::vector<StepShown>& steps, const Shown& shown) {
  const std::string off = rules::code_of(rules::SwitchedOff{});
  const Withheld what = to_withhold(step, steps, shown);
  if (what.any()) {
    const auto yes = word_for(fmt::format(
        "Nothing may run by itself meanwhile.{}{} Yes: do so; skip leaves it as it is.\n",
        what.outlets ? " Pump and stirrer go off, and stay off until step settle." : "",
        what.volume ? " The day's volume becomes 0 until step half-dose." : ""));
    if (!yes) {
      return tl::unexpected(yes.error());
    }
    const auto done = *yes ? withhold(station, what) : tl::expected<bool, int>{true};
    if (!done || !*done) {
      return tl::unexpected(done ? static_cast<int>(kRefused) : done.error());
    }
  }
  if (step >= Step::settle && shown.holds(off)) {
    const auto yes = word_for(
        "Pump and stirrer are switched off. Yes: the reactor is closed and hands are away; they "
        "may "
        "run again, the stirrer in its rhythm.\n");
    if (!yes) {
      return tl::unexpected(yes.error());
    }
    const auto released =
        *yes ? station.command(station::name_of(station::Release{}), {{"hold", off}})
             : tl::expected<bool, int>{true};
    if (!released || !*released) {
      return tl::unexpected(released ? static_cast<int>(kRefused) : released.error());
    }
  }
  return {};
}

/// Writes down what was said of a step. Error: the ExitCode.
tl::expected<void, int> take(CommissionStation& station, const StepTaken& taken) {
  const auto recorded = station.record(taken);
  return !recorded   ? tl::unexpected(recorded.error())
         : *recorded ? tl::expected<void, int>{}
                     : tl::unexpected(static_cast<int>(kRefused));
}

std::string line_of(const StepShown& one) {
  return fmt::format("  {:<10} {}{}{}{}\n", care::name_of(one.step), care::name_of(one.state),
                     one.at ? " at " + iso8601(*one.at) : "", one.note.empty() ? "" : ": ",
                     one.note);
}

std::string list_of(const std::vector<StepShown>& steps) {
  std::string list;
  for (const StepShown& one : steps) {
    list += line_of(one);
  }
  return list;
}

/// Step after step, until none is left or the person leaves.
int lead(CommissionStation& station) {
  for (bool first = true;; first = false) {
    const auto shown = station.look();
    if (!shown) {
      return shown.error();
    }
    const auto steps = care::steps_of(shown->book);
    if (first) {
      print(fmt::format("Commissioning of {}\n{}", station.name(), list_of(steps)));
    }
    const auto next = care::next_of(steps);
    if (!next) {
      print(
          fmt::format("{}All steps are done or skipped. limegate undo opens one again, by its "
                      "entry.\n",
                      first ? "" : "\n" + list_of(steps)));
      return kFine;
    }
    print(fmt::format("\nStep {} of {}: {}\n", static_cast<int>(*next) + 1, steps.size(),
                      care::name_of(*next)));
    if (const auto ready = make_ready(station, *next, steps, *shown); !ready) {
      return ready.error();
    }
    const Said said = conduct(*next, station);
    if (!said) {
      return said.error();
    }
    if (!*said) {
      const auto sure =
          choose(care::cost_of_skipping(*next) + " Yes: skip it; or back.\n", {"yes", "back"});
      if (!sure) {
        return sure.error();
      }
      if (!*sure || **sure == "back") {
        continue;
      }
    }
    const auto taken = take(station, {*next, *said ? StepTaken::How::done : StepTaken::How::skipped,
                                      said->value_or(std::string{})});
    if (!taken) {
      return taken.error();
    }
  }
}

int refuse(const std::string& why) {
  complain(fmt::format("Refused. {}\n", why));
  return kRefused;
}

/// Of a step that is said to be done or skipped without a terminal.
int say_of(CommissionStation& station, const std::string& name, StepTaken::How how) {
  const auto step = care::step_named(name);
  if (!step) {
    complain(fmt::format("There is no step '{}': limegate commission --json lists them.\n",
                         care::shown(name)));
    return kBadInput;
  }
  const auto shown = station.look();
  if (!shown) {
    return shown.error();
  }
  const auto steps = care::steps_of(shown->book);
  if (const auto next = care::next_of(steps); next && *step > *next) {
    return refuse(fmt::format("First comes {}.", care::name_of(*next)));
  }
  if (how == StepTaken::How::done) {
    const std::string why = care::lacking(*step, shown->book, shown->says, shown->now);
    if (!why.empty()) {
      return refuse(why);
    }
  } else {
    print(care::cost_of_skipping(*step) + "\n");
  }
  if (const Withheld what = to_withhold(*step, steps, *shown); what.any()) {
    // A dosing that stops by a word of a script would be silent by wish.
    if (what.volume && shown->says.undosed) {
      return refuse(
          "This station doses, and commissioning would set its day's volume to 0. Begin at the "
          "terminal, which asks, or first: limegate volume FILE --per-day 0mL.");
    }
    const auto done = withhold(station, what);
    if (!done || !*done) {
      return done ? static_cast<int>(kRefused) : done.error();
    }
  }
  StepTaken taken{*step, how};
  if (*step == Step::half_dose && how == StepTaken::How::done) {
    const double ml = station.plant().first_volume.count();
    const auto set = station.command(station::name_of(station::SetDayVolume{}), {{"ml", ml}});
    if (!set || !*set) {
      return set ? static_cast<int>(kRefused) : set.error();
    }
    taken.note = fmt::format("{:.0f} mL a day", ml);
  }
  const auto recorded = take(station, taken);
  return recorded ? static_cast<int>(kFine) : recorded.error();
}

int list(CommissionStation& station) {
  const auto shown = station.look();
  if (!shown) {
    return shown.error();
  }
  const auto steps = care::steps_of(shown->book);
  json all = json::array();
  for (const StepShown& one : steps) {
    all.push_back(
        {{"step", care::name_of(one.step)},
         {"state", care::name_of(one.state)},
         {"time", one.at ? json(iso8601(*one.at)) : json(nullptr)},
         {"note", one.note},
         {"asks", care::asks_of(one.step, station.plant())},
         {"skipping", care::cost_of_skipping(one.step)},
         {"lacking", is_open(one) ? care::lacking(one.step, shown->book, shown->says, shown->now)
                                  : std::string{}}});
  }
  const auto next = care::next_of(steps);
  const care::ReferenceDays days = care::reference_days(shown->says);
  print(json{{"station", station.name()},
             {"next", next ? json(care::name_of(*next)) : json(nullptr)},
             {"undosed_days", days.mixed ? 0 : days.seen},
             {"first_volume_ml", station.plant().first_volume.count()},
             {"steps", std::move(all)}}
            .dump(2) +
        "\n");
  return kFine;
}

int commission(const Given& given) {
  Meant meant = given;
  meant.json = false;
  auto station = CommissionStation::reach(meant);
  if (!station) {
    return station.error();
  }
  return given.json      ? list(*station)
         : given.done    ? say_of(*station, *given.done, StepTaken::How::done)
         : given.skipped ? say_of(*station, *given.skipped, StepTaken::How::skipped)
                         : lead(*station);
}

}  // namespace

void add_commission_command(CLI::App& app, int& code) {
  const auto given = std::make_shared<Given>();
  CLI::App* command = add_for_station(
      app, "commission",
      "From an empty reactor to the half dose, step by step, beside the running daemon. It asks at "
      "the terminal, and goes on where it was left",
      *given);
  auto* done = command->add_option("--done", given->done, "Say that this step is done");
  auto* skip = command->add_option("--skip", given->skipped,
                                   "Write this step down as skipped; it says what that costs");
  done->excludes(skip);
  command->get_option("--json")->excludes(done)->excludes(skip);
  command->get_option("--json")->description(
      "The steps, their state and what they ask, for scripts");
  command->callback([given, &code] { code = commission(*given); });
}

}  // namespace limegate::app
