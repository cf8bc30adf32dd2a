// How soon a climb of pH is seen, and how often one is seen that is none: the station's own
// detector beside rivals, in the same water (harsh_tank.h). Limits are tuned on some seeds, and
// everything is measured on others. usage: bench_climb [TANK_YEARS [TRIALS]]   (20 and 200)
#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <future>
#include <numeric>
#include <vector>

#include "benchmarks/climb_rivals.h"
#include "benchmarks/harsh_tank.h"
#include "rules/limits.h"
#include "signal/climb.h"
#include "signal/conditioner.h"
#include "signal/rise_cusum.h"
#include "station/effect_check.h"
#include "station/usual_course.h"
#include "station/water_response.h"

namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using namespace limegate;              // NOLINT(google-build-using-namespace): a program's one file
using namespace limegate::benchmarks;  // NOLINT(google-build-using-namespace): a program's one file

constexpr double kFalsePerDays = 30.0;
constexpr std::array kSlopes{0.05, 0.1, 0.3, 1.0};  // pH/h
constexpr int kTanks = 4;                           ///< of each kind; the years are shared out
constexpr std::uint64_t kTunes = 11, kJudges = 41;  ///< first seeds
const rules::Limits kShipped;

enum Detector : std::size_t {
  kStation,
  kCusum,
  kCusumUnexpected,
  kMeans,
  kDifference,
  kDifferenceRaw,
  kLine,
  kLines,
  kDetectors
};
using Says = std::array<double, kDetectors>;

struct Row {
  const char* name;
  double highest_limit;
};
constexpr std::array<Row, kDetectors> kRows{
    Row{"the station's", 0.4},
    Row{"rise-CUSUM, 0.03 pH/h", 0.4},
    Row{"the same, doses not expected", 0.4},
    Row{"means of 10 less 120 min", 0.4},
    Row{"difference over 30 min", 0.4},
    Row{"the same, of raw pH", 0.4},
    Row{"one line of 120 min", 0.4},
    Row{"GLR, lines of 5 to 1280 min", 40.0},
};

/// Every detector on one tank. The station's takes each sample as a station does, the others means
/// of a minute; all but the raw ones go by what is left of pH beside the usual course and the
/// doses.
class Detectors {
 public:
  void take(const HarshTank::Seen& seen, Moment now, Ph true_ph) {
    if (seen.dosed > Millilitres{}) {
      course_.dosed(now.mono, seen.dosed);
    }
    conditioner_.accept(seen.ph, now);
    if (!seen.disturbed) {
      sum_ += seen.ph;
      ++count_;
      if (seen.mixed) {
        station(now);
      }
    }
    if (now.mono.time_since_epoch() % kMinute != Duration::zero()) {
      return;
    }
    response_.take(true_ph, Celsius{25.5});
    course_.expect(now.mono, response_.per_millilitre(), effect_.expected());
    course_.follow(now);
    undosed_.follow(now);
    if (count_ > 0) {
      minute(Ph{sum_ / count_}, now, seen);
    }
    sum_ = 0.0;
    count_ = 0;
  }
  /// How strongly each says "it climbs".
  [[nodiscard]] const Says& says() const { return says_; }
  [[nodiscard]] double usual_effect() const { return effect_.usual(); }
  [[nodiscard]] bool learned() const { return course_.days_to_go() == 0; }
  /// How often doses were said to do nothing, or far too much, in water where they do as usual.
  struct FalseReports {
    int without_effect = 0, too_large = 0;
  };
  [[nodiscard]] const FalseReports& false_reports() const { return false_reports_; }

 private:
  using Teaches = station::UsualCourse::Teaches;
  [[nodiscard]] Teaches teaches() const {
    return says_[kStation] < kShipped.unusual_climb.count() ? Teaches::yes : Teaches::no;
  }
  void station(Moment now) {
    const Ph value{conditioner_.reading(now.mono).value};
    station::Effects effects;
    course_.take(now, value, teaches(), effects);
    const auto left = course_.residual(now, value);
    says_[kStation] = left ? left->climb.count() : 0.0;
  }
  void minute(Ph value, Moment now, const HarshTank::Seen& seen) {
    station::Effects effects;
    // Ten values a minute, as a station would have more of them than this.
    for (int i = 0; i < 10; ++i) {
      effect_.take(now, value, course_.by_chemistry(now.mono),
                   {rules::StirrerKnown::State::resting, seen.rested_since}, effects);
    }
    count_reports(effects);
    raw_.learn(now.mono, value.count());
    says_[kDifferenceRaw] = raw_.rise(now.mono, value.count());
    if (!seen.mixed) {
      return;  // what they said stands
    }
    undosed_.take(now, value, teaches(), effects);
    if (const auto left = course_.residual(now, value)) {
      rivals(now.mono, left->value.count());
    }
    if (const auto left = undosed_.residual(now, value)) {
      undosed_cusum_.learn(now.mono, left->value.count());
      says_[kCusumUnexpected] = undosed_cusum_.rise(now.mono, left->value.count());
    }
  }
  void rivals(Instant now, double left) {
    cusum_.learn(now, left);
    says_[kCusum] = cusum_.rise(now, left);
    says_[kMeans] = means_.take(now, left);
    difference_.learn(now, left);
    says_[kDifference] = difference_.rise(now, left);
    says_[kLine] = line_.take(left);
    says_[kLines] = lines_.take(left);
  }
  void count_reports(const station::Effects& effects) {
    for (const station::Effect& effect : effects) {
      const auto* raise = std::get_if<station::Raise>(&effect);
      if (raise != nullptr && raise->event.code == "dose-without-effect") {
        ++false_reports_.without_effect;
      }
    }
    const auto seen = effect_.against_usual();
    if (seen && seen->share >= kShipped.effect_too_large &&
        seen->at_least >= kShipped.effect_surely_large &&
        seen->of_chemistry >= kShipped.effect_above_chemistry) {
      ++false_reports_.too_large;
      station::Effects forgotten;
      effect_.begin_anew(forgotten);  // as when a person has looked
    }
  }

  signal::Conditioner conditioner_{{7.1, 9.2}};
  station::UsualCourse course_{{}, kShipped.climb_allowance_per_h};
  station::UsualCourse undosed_{{}, kShipped.climb_allowance_per_h};
  signal::RiseCusum cusum_{0.03}, undosed_cusum_{0.03};
  MeansApart means_;
  signal::Climb difference_{30min}, raw_{30min};
  Line line_{120};
  LinesOfManyLengths lines_;
  station::EffectCheck effect_{station::EffectCheck::Stored{}, {}, 60min};
  FalseReports false_reports_;
  station::WaterResponse response_{{HarshTank::kVolume, Dkh{8.0}, Salinity{35.0}}};
  double sum_ = 0.0;
  int count_ = 0;
  Says says_{};
};

struct Tank {
  HarshTank water;
  Detectors detectors;
  void step(const Extra& extra) {
    const HarshTank::Seen seen = water.step(extra);
    detectors.take(seen, water.now, water.ph());
  }
};

double mean(const std::vector<double>& values) {
  return values.empty() ? std::nan("")
                        : std::accumulate(values.begin(), values.end(), 0.0) /
                              static_cast<double>(values.size());
}

/// What years without a climb came to, and moments of them from which climbs may begin.
struct Watched {
  double days = 0.0;
  std::vector<FalseHolds> holds;
  std::vector<Tank> starts;
  Detectors::FalseReports reports;
  double usual_effect = 0.0;  ///< of the last tank
};

Watched watch(std::uint64_t seed, double days, double trials) {
  Watched out;
  out.days = days;
  for (const Row& row : kRows) {
    out.holds.emplace_back(row.highest_limit);
  }
  Random random{seed + 1000};
  Tank tank{HarshTank{seed}, {}};
  while (!tank.detectors.learned() || tank.water.now.mono < Instant{24h * 30}) {
    tank.step({});
  }
  const Instant end = tank.water.now.mono + std::chrono::minutes{std::lround(days * 1440.0)};
  while (tank.water.now.mono < end) {
    tank.step({});
    for (std::size_t i = 0; i < kDetectors; ++i) {
      out.holds[i].take(tank.detectors.says()[i]);
    }
    if (uniform(random, 0.0, 1.0) < trials / (days * 8640.0)) {
      out.starts.push_back(tank);
    }
  }
  out.reports = tank.detectors.false_reports();
  out.usual_effect = tank.detectors.usual_effect();
  return out;
}

/// Tanks beside each other, each with a seed of its own.
Watched watch_all(std::uint64_t first_seed, double years, double trials) {
  std::vector<std::future<Watched>> tanks;
  tanks.reserve(kTanks);
  for (int i = 0; i < kTanks; ++i) {
    tanks.push_back(std::async(std::launch::async, watch, first_seed + static_cast<unsigned>(i),
                               years * 365.25 / kTanks, trials / kTanks));
  }
  Watched all = tanks.front().get();
  for (auto next = tanks.begin() + 1; next != tanks.end(); ++next) {
    Watched one = next->get();
    all.days += one.days;
    for (std::size_t i = 0; i < kDetectors; ++i) {
      all.holds[i].add(one.holds[i]);
    }
    std::move(one.starts.begin(), one.starts.end(), std::back_inserter(all.starts));
    all.reports.without_effect += one.reports.without_effect;
    all.reports.too_large += one.reports.too_large;
    all.usual_effect = one.usual_effect;
  }
  return all;
}

/// A detector at a limit.
struct Contender {
  Detector detector;
  const char* name;
  double limit;
};

/// Minutes until each holds, from the moment at which the extra begins; none: a day.
std::vector<double> delays(Tank tank, const Extra& extra, const std::vector<Contender>& rows) {
  constexpr double none = 1440.0;
  std::vector<double> found(rows.size(), none);
  std::size_t open = rows.size();
  for (int second = 10; second <= 86400 && open > 0; second += 10) {
    tank.step(extra);
    for (std::size_t i = 0; i < rows.size(); ++i) {
      if (found[i] == none && tank.detectors.says()[rows[i].detector] >= rows[i].limit) {
        found[i] = second / 60.0;
        --open;
      }
    }
  }
  return found;
}

/// Of every start: the delay of every contender.
std::vector<std::vector<double>> delays(const std::vector<Tank>& starts, double slope,
                                        const std::vector<Contender>& rows) {
  const auto share = [&](std::size_t first) {
    std::vector<std::vector<double>> some;
    for (std::size_t i = first; i < starts.size(); i += 2) {
      some.push_back(delays(starts[i], {slope}, rows));
    }
    return some;
  };
  auto odd = std::async(std::launch::async, share, 1);
  auto all = share(0);
  const auto others = odd.get();
  all.insert(all.end(), others.begin(), others.end());
  return all;
}

void print_delays(const Watched& tuned, const Watched& judged) {
  std::vector<Contender> rows;
  for (std::size_t i = 0; i < kDetectors; ++i) {
    rows.push_back({static_cast<Detector>(i), kRows[i].name,
                    tuned.holds[i].limit_for(tuned.days / kFalsePerDays)});
  }
  rows.push_back({kStation, "the station's as shipped", kShipped.unusual_climb.count()});
  rows.push_back({kDifferenceRaw, "the plain limit as shipped", kShipped.climb.count()});
  std::printf(
      "limits tuned to one false hold in %.0f days on %.1f tank-years (seeds from %llu), measured "
      "on %.1f others (from %llu) and in %zu climbs of each slope; minutes until a hold (missed "
      "in 24 h)\n",
      kFalsePerDays, tuned.days / 365.25, static_cast<unsigned long long>(kTunes),
      judged.days / 365.25, static_cast<unsigned long long>(kJudges), judged.starts.size());
  std::printf("%-30s %8s %12s", "", "limit", "false, 30 d");
  for (const double slope : kSlopes) {
    std::printf("  %6.2f pH/h  ", slope);
  }
  std::printf("\n");
  std::array<std::vector<std::vector<double>>, kSlopes.size()> found;
  for (std::size_t slope = 0; slope < kSlopes.size(); ++slope) {
    found[slope] = delays(judged.starts, kSlopes[slope], rows);
  }
  for (std::size_t i = 0; i < rows.size(); ++i) {
    std::printf("%-30s %8.4f %12.2f", rows[i].name, rows[i].limit,
                judged.holds[rows[i].detector].at(rows[i].limit) / judged.days * 30.0);
    for (const auto& of_slope : found) {
      std::vector<double> minutes;
      for (const auto& trial : of_slope) {
        minutes.push_back(trial[i]);
      }
      const auto missed = std::count(minutes.begin(), minutes.end(), 1440.0);
      std::printf("  %6.1f (%2.0f %%)", mean(minutes),
                  100.0 * static_cast<double>(missed) / static_cast<double>(minutes.size()));
    }
    std::printf("\n");
  }
  std::printf(
      "doses do %.2f of what chemistry expects; false reports in all: without effect %d, too large "
      "%d\n",
      judged.usual_effect, tuned.reports.without_effect + judged.reports.without_effect,
      tuned.reports.too_large + judged.reports.too_large);
}

/// The rise of the animals' pH and the hours until a detector of the station holds; never: a day.
struct Reached {
  double rise = 0.0, hours = 24.0;
  bool held = false;
};
struct Course {
  Reached unusual, plain;
  double nothing = 0.0;  ///< the rise within a day
};
Course reached(Tank tank, const Extra& extra) {
  Tank without = tank;
  Course found;
  for (int second = 10; second <= 86400; second += 10) {
    tank.step(extra);
    without.step({});
    found.nothing = std::max(found.nothing, tank.water.animals_ph() - without.water.animals_ph());
    const Says& says = tank.detectors.says();
    const auto note = [&](Reached& one, bool holds) {
      if (!one.held) {
        one = {found.nothing, second / 3600.0, holds};
      }
    };
    note(found.unusual, says[kStation] >= kShipped.unusual_climb.count());
    note(found.plain, says[kDifferenceRaw] >= kShipped.climb.count());
  }
  return found;
}

void print_reached(const char* name, const std::vector<Reached>& all) {
  std::vector<double> rises, hours;
  int within = 0, never = 0;
  for (const Reached& one : all) {
    rises.push_back(one.rise);
    hours.push_back(one.hours);
    within += one.held && one.hours <= 12.0 ? 1 : 0;
    never += one.held ? 0 : 1;
  }
  std::printf("  %s: +%.3f after %.2f h, %d of %zu within 12 h, %d never", name, mean(rises),
              mean(hours), within, all.size(), never);
}

void print_rises(const std::vector<Tank>& starts) {
  const auto limewater = chemistry::saturated_limewater(Celsius{21.0}).value();
  const double mmol_per_ml = limewater.density.count() * limewater.strength.count() / 1000.0;
  struct Event {
    const char* name;
    Extra extra;
  };
  const std::array events{
      Event{"pump stuck on, 50 mL/min", {0.0, 50.0 / 60.0 * mmol_per_ml, 0.0}},
      Event{"siphon, 10 mL/min", {0.0, 10.0 / 60.0 * mmol_per_ml, 0.0}},
      Event{"siphon, 3 mL/min", {0.0, 3.0 / 60.0 * mmol_per_ml, 0.0}},
      Event{"milk, 1 g of powder a minute", {0.0, 0.0, 1000.0 / 74.093 / 60.0}},
  };
  std::printf("\nrise of the animals' pH until a hold by the shipped limits, in 24 h at most\n");
  for (const Event& event : events) {
    std::vector<Reached> unusual, plain;
    std::vector<double> nothing;
    for (std::size_t i = 0; i < std::min<std::size_t>(starts.size(), 40); ++i) {
      const Course course = reached(starts[starts.size() - 1 - i], event.extra);
      unusual.push_back(course.unusual);
      plain.push_back(course.plain);
      nothing.push_back(course.nothing);
    }
    std::printf("%-30s", event.name);
    print_reached("unusual climb", unusual);
    print_reached(";  plain limit", plain);
    std::printf(";  neither: +%.3f\n", mean(nothing));
  }
}

}  // namespace

int main(int argc, char** argv) {
  const double years = argc > 1 ? std::atof(argv[1]) : 20.0;
  const double trials = argc > 2 ? std::atof(argv[2]) : 200.0;
  const Watched tuned = watch_all(kTunes, years, 0.0);
  const Watched judged = watch_all(kJudges, years, trials);
  print_delays(tuned, judged);
  print_rises(judged.starts);
  return 0;
}
