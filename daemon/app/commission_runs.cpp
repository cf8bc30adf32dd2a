// The steps of commissioning in which something runs: each waits for the person's word first.

#include <algorithm>
#include <chrono>
#include <cmath>
#include <utility>

#include <fmt/format.h>

#include "app/commission_steps.h"
#include "app/keepers_answers.h"
#include "care/commission.h"
#include "care/rate_runs.h"
#include "rules/hold.h"
#include "station/attended.h"
#include "station/command.h"
#include "units/plain_number.h"

namespace limegate::app {
namespace {

using Shown = CommissionStation::Shown;

tl::unexpected<int> left(int code) { return tl::unexpected(code); }

/// Until no attended run is under way; says once that it waits.
tl::expected<Shown, int> run_over(CommissionStation& station) {
  return station.watch([](const Shown& shown) { return !shown.run_under_way; });
}

/// One attended run, after the person's word. How long the pump ran; zero: it did not begin, or
/// ended before its time, which was said. Absent: the person skips.
using Ran = tl::expected<std::optional<Duration>, int>;
Ran run(CommissionStation& station, Millilitres volume, const std::string& where) {
  const double minutes = volume.count() / station.plant().pump_rate.count();
  const auto yes = word_for(fmt::format(
      "The pump will run for {:.0f} s in all, {:g} mL by the file's rate, in pulses with rests "
      "between, and end by itself. {} Yes: run.\n",
      60.0 * minutes, volume.count(), where));
  if (!yes || !*yes) {
    return yes ? Ran{std::nullopt} : left(yes.error());
  }
  const auto begun =
      station.command(station::name_of(station::RunAttended{}), {{"ml", volume.count()}});
  if (!begun) {
    return left(begun.error());
  }
  if (!*begun) {
    return std::optional{Duration::zero()};
  }
  const auto over = run_over(station);
  if (!over) {
    return left(over.error());
  }
  const Duration ran = over->ran.value_or(Duration::zero());
  say(fmt::format("The run is over: the pump ran for {:.1f} s.\n", in_seconds(ran)));
  constexpr double rounding = 0.02;
  if (in_minutes(ran) < minutes * (1.0 - rounding)) {
    say("It was held before its end: limegate status says why. What is in the cylinder does not "
        "count; every mL does.\n");
    return std::optional{Duration::zero()};
  }
  return std::optional{ran};
}

/// Asks for a volume from `least` to what one run may give. Absent: the person skips.
tl::expected<std::optional<double>, int> volume_of_run(const CommissionStation& station,
                                                       const std::string& question,
                                                       Millilitres least) {
  const double most = std::floor(station.run_most().count());
  for (;;) {
    auto ml = ask_number(fmt::format("{} From {:.0f} to {:.0f} mL; skip, or quit.\n", question,
                                     std::ceil(least.count()), most),
                         "mL");
    if (!ml || !*ml || (**ml >= least.count() && **ml <= most)) {
      return ml;
    }
  }
}

Said confirm(CommissionStation& station, const care::RateRuns& rate, Duration ran) {
  const double ml = rate.mean.count() * in_minutes(ran);
  const auto confirmed = station.command(station::name_of(station::ConfirmRate{}), {{"ml", ml}});
  if (!confirmed) {
    return left(confirmed.error());
  }
  return *confirmed ? std::optional{fmt::format("{:.1f} mL/min, spread {:.1f} %, known to {:.1f} %",
                                                rate.mean.count(), 100.0 * rate.spread,
                                                100.0 * rate.ninety)}
                    : std::nullopt;
}

/// A run into the cylinder, and what it shows, into the book. False: the person skips.
tl::expected<bool, int> measure_once(CommissionStation& station, Millilitres volume,
                                     care::Cylinder cylinder) {
  const auto ran = run(station, volume, "The line ends in the empty cylinder.");
  if (!ran || !*ran) {
    return ran ? tl::expected<bool, int>{false} : left(ran.error());
  }
  if (**ran <= Duration::zero()) {
    return true;
  }
  const auto ml = ask_number("What does the cylinder show? Such as 96mL; skip, or quit.\n", "mL");
  if (!ml || !*ml) {
    return ml ? tl::expected<bool, int>{false} : left(ml.error());
  }
  if (!(**ml > 0.0)) {
    say("Nothing came: look for air, a pinched line, a tap that is shut. That run counts for "
        "nothing.\n");
    return true;
  }
  const double rate = **ml / in_minutes(**ran);
  const auto recorded = station.record({{}, "rate", plain_number(rate, 4), "mL/min"});
  if (!recorded) {
    return left(recorded.error());
  }
  say(fmt::format("That is {:.1f} mL/min; cylinder and clock tell it to {:.1f} %.\n", rate,
                  100.0 * care::reading_share(cylinder, Millilitres{**ml}, **ran)));
  return true;
}

/// What the runs so far come to. Absent: more are needed.
tl::expected<std::optional<Said>, int> rate_so_far(CommissionStation& station) {
  const auto shown = run_over(station);
  if (!shown) {
    return left(shown.error());
  }
  const care::RateRuns rate = care::rate_of(care::runs_of(shown->book));
  say(care::sentence_of(rate) + "\n");
  if (rate.verdict != care::RateRuns::Verdict::enough) {
    return std::optional<Said>{};
  }
  if (!shown->ran || *shown->ran < station::AttendedRun::kMeasurableFrom) {
    say("The station was started anew since: one more run lets it confirm the rate.\n");
    return std::optional<Said>{};
  }
  Said said = confirm(station, rate, *shown->ran);
  return !said || *said ? std::optional{std::move(said)} : std::nullopt;
}

}  // namespace

Said settle(CommissionStation& station) {
  bool stirred = false;
  for (bool begun = false; !begun;) {
    const auto how = station.stirs_itself()
                         ? choose(
                               "Yes: stir once, now. Stirred: it was stirred since the water was "
                               "filled in.\n",
                               {"yes", "stirred"})
                         : choose(
                               "The stirrer runs by a timer of its own. Stirred: it has run since "
                               "the water was filled in.\n",
                               {"stirred"});
    if (!how || !*how) {
      return how ? Said{std::nullopt} : left(how.error());
    }
    stirred = **how == "stirred";
    const auto stirs = stirred ? tl::expected<bool, int>{true}
                               : station.command(station::name_of(station::StirNow{}));
    if (!stirs) {
      return left(stirs.error());
    }
    // A stir of its rhythm does as well: one is due as soon as everything may run again.
    const auto shown = station.look();
    if (!shown) {
      return left(shown.error());
    }
    begun = *stirs || shown->holds(rules::code_of(rules::StirrerRunning{}));
  }
  std::string told;
  const auto clear = station.watch([&](const Shown& shown) {
    const std::string holds = care::not_clear(shown.says.holds);
    stirred = stirred || !holds.empty();  // a stir begins within a second
    if (holds != std::exchange(told, holds) && !holds.empty()) {
      say(fmt::format("Not clear yet: {}.\n", holds));
    }
    return stirred && holds.empty();
  });
  if (!clear) {
    return left(clear.error());
  }
  say("The station says that the limewater is clear.\n");
  return std::optional{std::string{"clear"}};
}

Said prime(CommissionStation& station) {
  for (;;) {
    if (const auto rests = run_over(station); !rests) {
      return left(rests.error());
    }
    const auto volume =
        volume_of_run(station, "How much fills the line? Such as 20mL.", Millilitres{1.0});
    if (!volume || !*volume) {
      return volume ? Said{std::nullopt} : left(volume.error());
    }
    const auto ran = run(station, Millilitres{**volume}, "The line ends in a cup.");
    if (!ran || !*ran) {
      return ran ? Said{std::nullopt} : left(ran.error());
    }
    if (**ran <= Duration::zero()) {
      continue;
    }
    const auto full =
        choose("Yes: the line is full and runs without air; or again.\n", {"yes", "again"});
    if (!full || !*full) {
      return full ? Said{std::nullopt} : left(full.error());
    }
    if (**full == "yes") {
      return std::optional{fmt::format("{:g} mL", **volume)};
    }
  }
}

Said measure_rate(CommissionStation& station) {
  std::optional<care::Cylinder> cylinder;
  std::optional<Millilitres> volume;
  for (;;) {
    auto so_far = rate_so_far(station);
    if (!so_far) {
      return left(so_far.error());
    }
    if (*so_far) {
      return std::move(**so_far);
    }
    if (!cylinder) {
      const auto which =
          choose("Of which class is the cylinder? If it does not say: b.\n", {"a", "b"});
      if (!which || !*which) {
        return which ? Said{std::nullopt} : left(which.error());
      }
      cylinder = **which == "a" ? care::Cylinder::class_a : care::Cylinder::class_b;
      const auto ml = volume_of_run(
          station, "How much in each run? Better two minutes than less, such as 100mL.",
          Millilitres{station.plant().pump_rate.count() *
                      in_minutes(station::AttendedRun::kMeasurableFrom)});
      if (!ml || !*ml) {
        return ml ? Said{std::nullopt} : left(ml.error());
      }
      volume = Millilitres{**ml};
    }
    const auto measured = measure_once(station, *volume, *cylinder);
    if (!measured || !*measured) {
      return measured ? Said{std::nullopt} : left(measured.error());
    }
  }
}

}  // namespace limegate::app
