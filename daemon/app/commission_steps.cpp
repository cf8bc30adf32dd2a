#include "app/commission_steps.h"

#include <cstdlib>

#include <fmt/format.h>

#include "app/exit_code.h"
#include "app/keepers_answers.h"
#include "care/commission_words.h"
#include "care/entry_reader.h"
#include "care/powder.h"
#include "station/command.h"
#include "units/plain_number.h"

namespace limegate::app {
namespace {

constexpr const char* kDone = "Yes: it is so.\n";

Said word(const std::string& question, const std::string& note = {}) {
  const auto yes = word_for(question);
  if (!yes) {
    return tl::unexpected(yes.error());
  }
  return *yes ? std::optional{note} : std::nullopt;
}

std::string grams(double count) { return fmt::format("{:.0f} g", count); }

Said charge(CommissionStation& station) {
  const auto shown = station.look();
  if (!shown) {
    return tl::unexpected(shown.error());
  }
  if (const double before = care::charged(shown->book); before > 0.0) {
    return word(fmt::format("The book already tells of {} since the facts were confirmed. Yes: "
                            "that is this charge. More is recorded by limegate record.\n",
                            grams(before)),
                grams(before));
  }
  const care::Interval usual = care::charge_of(station.plant().bore);
  for (;;) {
    const auto given =
        ask_number("How many grams did you put in? Such as 130g; skip, or quit.\n", "g");
    if (!given || !*given) {
      return given ? Said{std::nullopt} : tl::unexpected(given.error());
    }
    const double mass = **given;
    if (!(mass >= usual.low && mass <= usual.high)) {
      const auto sure = choose(
          fmt::format("{} is not within {:.0f} to {:.0f} g: more cakes and overloads the stirrer's "
                      "motor, less is soon used up. Yes: it is so; or again.\n",
                      grams(mass), usual.low, usual.high),
          {"yes", "again"});
      if (!sure || !*sure) {
        return sure ? Said{std::nullopt} : tl::unexpected(sure.error());
      }
      if (**sure == "again") {
        continue;
      }
    }
    const auto recorded =
        station.record({{}, "powder", plain_number(mass, 4), "g"}, CommissionStation::Sure::yes);
    if (!recorded) {
      return tl::unexpected(recorded.error());
    }
    if (*recorded) {
      return std::optional{grams(mass)};
    }
  }
}

Said prove_outlets(CommissionStation& station) {
  for (;;) {
    Said said = word("Yes: the station said so, and it went by itself.\n");
    if (!said || !*said) {
      return said;
    }
    const auto shown = station.look();
    if (!shown) {
      return tl::unexpected(shown.error());
    }
    const std::string why = care::lacking(care::Step::proof, shown->book, shown->says, shown->now);
    if (why.empty()) {
      return said;
    }
    say(why + "\n");
  }
}

struct Test {
  const char* what;
  const char* question;
  std::string (*lacking)(const care::Book& book, WallTime now);
};

/// What is typed in, into the book. False: the person skips.
tl::expected<bool, int> take_test(CommissionStation& station, const Test& test) {
  const auto said = ask_for(test.question);
  if (!said || !*said) {
    return said ? tl::expected<bool, int>{false} : tl::unexpected(said.error());
  }
  const care::Measured measured = care::measured(**said);
  const care::Written row{{}, test.what, measured.value, measured.unit};
  const auto recorded = station.record(row);
  if (!recorded || *recorded) {
    return recorded;
  }
  const auto sure = choose("Yes: it is so; or again.\n", {"yes", "again"});
  if (!sure || !*sure || **sure == "again") {
    return sure ? tl::expected<bool, int>{sure->has_value()} : tl::unexpected(sure.error());
  }
  const auto again = station.record(row, CommissionStation::Sure::yes);
  return again ? tl::expected<bool, int>{true} : again;
}

Said test_water(CommissionStation& station) {
  for (const Test& test :
       {Test{"alkalinity", "Alkalinity, such as 8.1dKH; skip, or quit.\n",
             care::lacking_alkalinity},
        Test{"calcium", "Calcium, such as 420mg/L; skip, or quit.\n", care::lacking_calcium}}) {
    for (;;) {
      const auto shown = station.look();
      if (!shown) {
        return tl::unexpected(shown.error());
      }
      const std::string why = test.lacking(shown->book, shown->now);
      if (why.empty()) {
        break;
      }
      say(why + "\n");
      const auto taken = take_test(station, test);
      if (!taken || !*taken) {
        return taken ? Said{std::nullopt} : tl::unexpected(taken.error());
      }
    }
  }
  return std::optional{std::string{"within range"}};
}

Said wait_for_reference(CommissionStation& station) {
  const auto shown = station.look();
  if (!shown) {
    return tl::unexpected(shown.error());
  }
  const std::string why =
      care::lacking(care::Step::reference, shown->book, shown->says, shown->now);
  if (why.empty()) {
    return std::optional{std::string{shown->says.reference_known ? "known already" : "undosed"}};
  }
  const care::ReferenceDays days = care::reference_days(shown->says);
  if (!days.mixed) {
    say(why + "\n");
    const auto later = choose("", {"later"});
    if (!later || !*later) {
      return later ? Said{std::nullopt} : tl::unexpected(later.error());
    }
    say("Until then: limegate commission --json tells the count.\n");
    return tl::unexpected(static_cast<int>(kFine));
  }
  const auto yes = word_for(
      "What was seen of the pH so far was on days with doses, too. Yes: forget it, and count three "
      "undosed days from now on.\n");
  if (!yes || !*yes) {
    return yes ? Said{std::nullopt} : tl::unexpected(yes.error());
  }
  const auto forgot = station.command(station::name_of(station::Relearn{}));
  if (forgot && *forgot) {
    say("Come back in three days and some hours: limegate commission goes on here.\n");
  }
  return tl::unexpected(forgot ? static_cast<int>(*forgot ? kFine : kRefused) : forgot.error());
}

Said begin_dosing(CommissionStation& station) {
  const double ml = station.plant().first_volume.count();
  Said said = word("Yes: set it, and dosing begins in the next clear window.\n",
                   fmt::format("{:.0f} mL a day", ml));
  if (!said || !*said) {
    return said;
  }
  const auto set = station.command(station::name_of(station::SetDayVolume{}), {{"ml", ml}});
  if (!set) {
    return tl::unexpected(set.error());
  }
  if (!*set) {
    say(
        fmt::format("Only the file allows more: write day_volume_ml = {:.0f} into its plan, start "
                    "limegate again, and come back.\n",
                    ml));
    return tl::unexpected(static_cast<int>(kRefused));
  }
  return said;
}

}  // namespace

Said conduct(care::Step step, CommissionStation& station) {
  say(care::asks_of(step, station.plant()));
  switch (step) {
    case care::Step::place:
    case care::Step::facts:
    case care::Step::water:
      return word(kDone);
    case care::Step::charge:
      return charge(station);
    case care::Step::settle:
      return settle(station);
    case care::Step::prime:
      return prime(station);
    case care::Step::rate:
      return measure_rate(station);
    case care::Step::probe:
      return check_probe(station);
    case care::Step::proof:
      return prove_outlets(station);
    case care::Step::tests:
      return test_water(station);
    case care::Step::reference:
      return wait_for_reference(station);
    case care::Step::half_dose:
      return begin_dosing(station);
  }
  std::abort();
}

}  // namespace limegate::app
