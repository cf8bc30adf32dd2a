#include "care/advice.h"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <utility>

#include <fmt/format.h>

#include "care/course.h"
#include "care/doubts.h"
#include "care/estimator.h"
#include "chemistry/keeper_units.h"
#include "units/iso8601.h"

namespace limegate::care {
namespace {

constexpr Duration kDay = std::chrono::hours{24};
/// Of a reef; common practice (CARE.md, section 3).
constexpr double kLevelLow = 7.0, kLevelHigh = 11.0;
/// The most that a level, or a day's supply, may change by in a day: dKH (CARE.md, section 3).
constexpr double kChangeMost = 0.5;
/// The most that the volume may change by in a week, as a share of it (CARE.md, section 5).
constexpr double kStepMost = 0.25;
/// Enough: tests, days from first to last, and how well the volume that holds is known (CARE.md,
/// section 5).
constexpr std::size_t kTestsLeast = 3;
constexpr double kSpanLeast = 14.0;
constexpr double kKnownTo = 0.25;
/// What may be without a row and nobody needs to hear of it: today's row is written tomorrow.
constexpr double kUnknownDays = 0.9;
constexpr Interval kCalcium{380.0, 450.0}, kMagnesium{1250.0, 1350.0};  ///< mg/L

bool sound(const Estimate& one) {
  return std::isfinite(one.median) && std::isfinite(one.ninety.low) &&
         std::isfinite(one.ninety.high);
}

Estimate times(const Estimate& one, double factor) {
  return {one.median * factor, {one.ninety.low * factor, one.ninety.high * factor}};
}

/// Half of the interval, as a share of the middle.
bool known_to(const Estimate& one, double share) {
  return one.ninety.high - one.ninety.low <= 2.0 * share * one.median;
}

/// Calcium that goes into aragonite with so much alkalinity: one to two charges.
MgPerLitre calcium_with(Dkh alkalinity) {
  return MgPerLitre{chemistry::to_meq_per_litre(alkalinity).count() * chemistry::kCaGrams / 2.0};
}

/// The largest volume that may follow on the present one, and the smallest.
struct Bounds {
  Millilitres low, high;
};
/// What was raised within the week is not raised by as much again. A quarter of nothing is nothing:
/// there the least of what was given since counts.
Millilitres raised_from(const Supply& supply, WallTime at) {
  const Millilitres week_ago = supply.at(at - 7 * kDay);
  if (week_ago.count() > 0.0) {
    return std::min(supply.present(), week_ago);
  }
  Millilitres least = supply.present();
  for (int days = 1; days < 7; ++days) {
    const Millilitres then = supply.at(at - days * kDay);
    least = then.count() > 0.0 ? std::min(least, then) : least;
  }
  return least;
}

Bounds bounds_of(const Supply& supply, const Site& site, WallTime at) {
  const Millilitres present = supply.present();
  const Millilitres a_day{kChangeMost / site.per_millilitre.count()};
  const Millilitres from = raised_from(supply, at);
  const Millilitres high =
      present.count() > 0.0 ? std::max(present, std::min((1.0 + kStepMost) * from, present + a_day))
                            : first_volume_of(site);
  const Millilitres low = present - std::min(kStepMost * present, a_day);
  return {std::min(low, site.most_per_day), std::min(high, site.most_per_day)};
}

/// The level to be aimed at, and how much of it a day.
double rise_per_day(const Estimate& level, const Asked& asked) {
  const double target =
      asked.target ? asked.target->count() : std::clamp(level.median, kLevelLow, kLevelHigh);
  const double days = in_seconds(asked.within) / in_seconds(kDay);
  return std::clamp((target - level.median) / days, -kChangeMost, kChangeMost);
}

/// Upwards by the lower end of what the demand may be, downwards by its middle: too little is
/// mended next week. `may_rise` is whether the tests bear it.
Millilitres next_volume(const Advice& advice, const Asked& asked, const Site& site,
                        const Bounds& bounds, bool may_rise) {
  const Millilitres present = *advice.present;
  const Millilitres to_target{rise_per_day(*advice.alkalinity_dkh, asked) /
                              site.per_millilitre.count()};
  const Millilitres careful = Millilitres{advice.hold_ml_per_day->ninety.low} + to_target;
  const Millilitres middle = Millilitres{advice.hold_ml_per_day->median} + to_target;
  const Millilitres wanted = careful > present && may_rise ? careful : std::min(present, middle);
  return std::clamp(wanted, bounds.low, bounds.high);
}

/// Of the newest test of what limewater can't correct; what is common is common practice (CARE.md,
/// section 3).
template <class Test>
void ask_about_newest(const Book& book, const char* what, Interval common, Advice& advice) {
  const Test* newest = nullptr;
  for (const Entry& entry : book.entries) {
    const auto* test = std::get_if<Test>(&entry.what);
    newest = test != nullptr ? test : newest;
  }
  if (newest == nullptr) {
    return;
  }
  const double level = newest->level.count();
  if (level < common.low || level > common.high) {
    advice.asks.push_back(
        fmt::format("{} was {:.0f} mg/L: {:.0f} to {:.0f} is common practice. Limewater can't "
                    "correct it: use other means.",
                    what, level, common.low, common.high));
  }
}

void ask_about_level(Advice& advice) {
  const double level = advice.alkalinity_dkh->median;
  if (level > kLevelHigh) {
    advice.asks.push_back(
        fmt::format("Alkalinity is about {:.1f} dKH, above {:.0f}: give nothing until a newer test "
                    "is below it. The next volume is for then.",
                    level, kLevelHigh));
  } else if (level < kLevelLow) {
    advice.asks.push_back(
        fmt::format("Alkalinity is about {:.1f} dKH, below {:.0f}: limewater maintains and does "
                    "not correct. Raise it by other means, by at most {:.1f} dKH a day.",
                    level, kLevelLow, kChangeMost));
  }
}

void ask_about_gaps(const Book& book, const Course& course, WallTime at, Advice& advice) {
  const auto first = std::find_if(book.entries.begin(), book.entries.end(), [](const Entry& entry) {
    return std::holds_alternative<AlkalinityTest>(entry.what);
  });
  if (first == book.entries.end() || course.supply().empty()) {
    return;
  }
  const double unknown = course.supply().between(first->at, at).unknown_days;
  if (unknown > kUnknownDays) {
    advice.asks.push_back(
        fmt::format("Of {:.1f} days since the first test no row tells how much limewater was "
                    "given. They count as the mean of the days beside them, and widen what is "
                    "estimated. Write them down, be it 0 mL.",
                    unknown));
  }
}

/// What evaporation leaves for another method.
void cap(Advice& advice) {
  const double demand = advice.demand_dkh_per_day->median;
  const double rest = std::max(0.0, demand - advice.most.count());
  advice.other = OtherMethod{Dkh{rest}, calcium_with(Dkh{rest}),
                             Percent{demand > 0.0 ? 100.0 * rest / demand : 0.0}};
  if (rest > 0.0) {
    advice.asks.push_back(fmt::format(
        "Limewater can bring at most {:.2f} dKH a day here, so another method must "
        "bring the other {:.2f} dKH and {:.1f} mg/L of calcium a day: {:.0f} % of the "
        "demand.",
        advice.most.count(), rest, advice.other->calcium.count(), advice.other->share.count()));
  }
}

/// Estimates as far as they are numbers. False: they are not.
bool take(const Estimates& known, const Site& site, Advice& advice) {
  const Estimate demand = known.now.demand();
  const Estimate hold = times(known.now.hold(), 1.0 / site.per_millilitre.count());
  const Estimate level = known.now.level();
  const Estimate reading = known.next.reading();
  if (!sound(demand) || !sound(hold) || !sound(level) || !sound(reading)) {
    return false;
  }
  advice.demand_dkh_per_day = demand;
  advice.hold_ml_per_day = hold;
  advice.alkalinity_dkh = level;
  advice.next_alkalinity_dkh = reading;
  advice.tests = known.tests;
  advice.kit_sd_dkh = known.now.kit_sd();
  advice.best_next_test = known.best_next;
  advice.enough_tests =
      known.tests >= kTestsLeast && known.span_days >= kSpanLeast && known_to(hold, kKnownTo);
  return true;
}

/// A refill is due before the weakest that is likely runs out.
void ask_for_powder(Advice& advice) {
  constexpr double soon = 7.0;
  if (!advice.powder || !advice.powder->days || !(advice.powder->days->low < soon)) {
    return;
  }
  const Interval& refill = advice.powder->refill_g;
  advice.asks.push_back(
      refill.high > 0.0
          ? fmt::format("The powder may be spent in {:.0f} days: put {:.0f} to {:.0f} g into the "
                        "reactor, and write it down.",
                        advice.powder->days->low, refill.low, refill.high)
          : std::string{"The powder may be spent soon, and the vessel holds as much as it takes: "
                        "empty and clean it, charge it anew, and write both down."});
}

void ask_for_tests(const Site& site, WallTime at, Advice& advice) {
  if (!advice.best_next_test) {
    advice.best_next_test = advice.tests == 0 ? at : at + 7 * kDay;
  }
  if (!advice.enough_tests) {
    advice.asks.push_back(
        fmt::format("Not enough tests yet: it takes {} over {:.0f} days that know the volume to "
                    "within {:.0f} %. The volume is not raised until then; a test would say most "
                    "at {}.",
                    kTestsLeast, kSpanLeast, 100.0 * kKnownTo, iso8601(*advice.best_next_test)));
    if (!advice.present || !(advice.present->count() > 0.0)) {
      advice.asks.push_back(
          fmt::format("Where limewater is new, begin with {:.0f} mL a day: half of the evaporation "
                      "(common practice), and no more than would raise alkalinity by {:.1f} dKH.",
                      first_volume_of(site).count(), kChangeMost));
    }
  }
}

}  // namespace

Millilitres first_volume_of(const Site& site) {
  return std::min({0.5 * site.evaporation_per_day,
                   Millilitres{kChangeMost / site.per_millilitre.count()}, site.most_per_day});
}

Advice advise(const ReadBook& read, const Site& site, const Asked& asked) {
  const ReadBook usable = without_doubtful(read, site, asked.at);
  const Course course{usable.book, site, asked.at};
  Advice advice;
  advice.most = site.most_per_day.count() * site.per_millilitre;
  advice.tests = static_cast<std::size_t>(std::count_if(
      usable.book.entries.begin(), usable.book.entries.end(),
      [](const Entry& one) { return std::holds_alternative<AlkalinityTest>(one.what); }));
  for (const Remark& remark : usable.remarks) {
    advice.asks.push_back(remark.sentence() + ".");
  }
  ask_about_gaps(usable.book, course, asked.at, advice);
  ask_about_newest<CalciumTest>(usable.book, "Calcium", kCalcium, advice);
  ask_about_newest<MagnesiumTest>(usable.book, "Magnesium", kMagnesium, advice);
  if (course.supply().empty()) {
    advice.asks.push_back(
        "The book has no limewater rows, so nobody can tell demand from supply. Write what was "
        "given in each 24 h, be it 0 mL.");
    ask_for_tests(site, asked.at, advice);
    return advice;
  }
  advice.present = course.supply().present();
  advice.powder = powder_of(usable.book, course.supply(), site, asked.at);
  ask_for_powder(advice);
  if (*advice.present > site.most_per_day) {
    advice.asks.push_back(
        fmt::format("{:.0f} mL of limewater are given a day, and more than {:.0f} mL may never be: "
                    "the tank floods, or its alkalinity runs away. Is that so?",
                    advice.present->count(), site.most_per_day.count()));
  }
  const Bounds bounds = bounds_of(course.supply(), site, asked.at);
  const auto known = estimate(usable.book, course, asked.at, asked.next_test);
  if (!known || !take(*known, site, advice)) {
    advice.next = std::clamp(*advice.present, bounds.low, bounds.high);
    ask_for_tests(site, asked.at, advice);
    return advice;
  }
  if (known->doubtful) {
    advice.asks.push_back(
        "The newest alkalinity is not what the tests before it foretold: a slip, or the tank has "
        "changed. Test again within a day; until then the volume is not raised.");
  }
  ask_about_level(advice);
  ask_for_tests(site, asked.at, advice);
  cap(advice);
  const bool may_rise =
      advice.enough_tests && !known->doubtful && advice.alkalinity_dkh->median <= kLevelHigh;
  advice.next = next_volume(advice, asked, site, bounds, may_rise);
  return advice;
}

}  // namespace limegate::care
