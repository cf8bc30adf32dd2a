// How soon a climb of pH is seen, and how often one is seen that is none: the station's own
// detector beside reference detectors, in the same water. The tank is the simulator's; wander,
// noise, events and climbs are a scenario of our own, on purpose harsher than most tanks. usage:
// bench_climb [TANK_YEARS [TRIALS]]   (20 and 200: about ten minutes)
#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <deque>
#include <numbers>
#include <numeric>
#include <random>
#include <vector>

#include "chemistry/limewater.h"
#include "rules/limits.h"
#include "signal/climb.h"
#include "simulator/aquarium.h"
#include "station/effect_check.h"
#include "station/usual_course.h"
#include "station/water_response.h"

namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using namespace limegate;              // NOLINT(google-build-using-namespace): a program's one file

constexpr Duration kStep = 10s;
constexpr Duration kMinute = 1min;
constexpr Duration kMixesIn = 3min;  ///< as a station waits
constexpr double kFalsePerDays = 30.0;
constexpr std::array kSlopes{0.05, 0.1, 0.3, 1.0};  // pH/h
constexpr PhChange kAllowance{0.03};
constexpr double kOurLimit = 0.06, kPlainLimit = 0.12;

using Random = std::mt19937_64;
double normal(Random& random) { return std::normal_distribution<double>{}(random); }
double uniform(Random& random, double low, double high) {
  return std::uniform_real_distribution<double>{low, high}(random);
}

/// What is poured into the sump beside the plan, from when on.
struct Extra {
  double ph_per_h = 0.0;    ///< shown by the probe, whatever it comes from
  double mmol_per_s = 0.0;  ///< of calcium hydroxide, dissolved
  double powder_mmol_per_s = 0.0;
};

/// A tank of 400 L with a station's dosing: 2 L a day in the clear windows of two-hour cycles.
class World {
 public:
  explicit World(std::uint64_t seed) : random_(seed) {}

  struct Seen {
    bool disturbed = false;
    bool mixed = true;  ///< as a station waits for it after a pulse
    Instant rested_since;
    double ph = 0.0;
    Millilitres dosed;
  };
  Seen step(const Extra& extra) {
    now.mono += kStep;
    now.wall += kStep;
    const Duration of_cycle = (now.mono - stirred_at_) % 2h;
    Seen seen;
    if (std::uniform_int_distribution<int>{0, 8640 * 7 - 1}(random_) == 0) {
      // Once a week the keeper pauses dosing, and stirs by hand when it goes on.
      stirred_at_ = now.mono + std::chrono::minutes{static_cast<int>(uniform(random_, 120, 900))};
    }
    // Three pulses of 55.6 mL and 67 s, as the plan has them.
    const Duration into_slot = (of_cycle - 75min) % 15min;
    const bool pumps = of_cycle >= 75min && into_slot >= 450s && into_slot < 520s;
    if (pumps) {
      pour(Millilitres{55.6 / 7.0});
      seen.dosed = into_slot == 510s ? Millilitres{55.6} : Millilitres{};
      disturbed_until_ = now.mono + 60s;
      mixed_at_ = now.mono + kMixesIn;
    }
    if (of_cycle < 15min && of_cycle >= Duration::zero()) {
      disturbed_until_ = now.mono + 60s;
    }
    live();
    water_.add(Kilograms{1e-9}, MmolPerKg{extra.mmol_per_s * 10.0 / 1e-9},
               extra.powder_mmol_per_s * 10.0);
    water_.advance(now, kStep);
    seen.disturbed = now.mono < disturbed_until_;
    seen.mixed = now.mono >= mixed_at_;
    seen.rested_since = now.mono - of_cycle + 15min;
    shown_more_ += extra.ph_per_h * 10.0 / 3600.0;
    // No two days have the same light: 12 % of the day's swing.
    const double day = std::chrono::duration<double>(now.mono.time_since_epoch() % 24h) / 24h;
    const double swing = 0.15 * (1.0 - std::cos(2.0 * std::numbers::pi * day));
    seen.ph = water_.ph().count() + light_ * swing + shown_more_ + fast_ + 0.01 * normal(random_);
    return seen;
  }
  [[nodiscard]] double animals_ph() const { return water_.display().ph_nbs.count(); }
  [[nodiscard]] Ph ph() const { return water_.ph(); }

  Moment now{Instant{0h}, WallTime{24h * 20000}};
  static constexpr Litres kVolume{400.0};

 private:
  void pour(Millilitres volume) {
    const auto limewater = chemistry::saturated_limewater(Celsius{21.0}).value();
    water_.add(Kilograms{volume.count() / 1000.0 * limewater.density.count()}, limewater.strength,
               0.0);
  }
  /// What makes a real tank wander: the room, hands in the water, a fast flutter.
  void live() {
    const double hours = 10.0 / 3600.0;
    room_ += -room_ * hours / 6.0 + 70.0 * std::sqrt(2.0 * hours / 6.0) * normal(random_);
    water_.set_room_co2(settings_.room_co2_ppm + room_);
    fast_ += -fast_ * hours * 3.0 + 0.003 * std::sqrt(6.0 * hours) * normal(random_);
    if (now.mono.time_since_epoch() % 24h == Duration::zero()) {
      light_ = 0.12 * normal(random_);
    }
    // Something is added by hand within half an hour, once in four days: +0.015 to +0.06, and more
    // at the probe meanwhile.
    if (std::uniform_int_distribution<int>{0, 8640 * 4 - 1}(random_) == 0) {
      by_hand_mmol_ += uniform(random_, 2.5, 10.0);
      by_hand_until_ = now.mono + 30min;
    }
    if (now.mono < by_hand_until_) {
      const double share = 10.0 / std::chrono::duration<double>(by_hand_until_ - now.mono).count();
      water_.add(Kilograms{1e-9}, MmolPerKg{by_hand_mmol_ * share / 1e-9}, 0.0);
      by_hand_mmol_ -= by_hand_mmol_ * share;
    }
  }

  simulator::AquariumSettings settings_;
  simulator::Aquarium water_{settings_};
  Random random_;
  double room_ = 0.0, fast_ = 0.0, light_ = 0.0, shown_more_ = 0.0;
  double by_hand_mmol_ = 0.0;
  Instant by_hand_until_{}, stirred_at_{}, disturbed_until_{}, mixed_at_{};
};

/// The same detector twice, with and without what doses should do; a raw difference; and a bank of
/// straight lines of many lengths on the residual, each against its own usual spread.
class Detectors {
 public:
  static constexpr std::array kNames{"ours", "rise-CUSUM, doses not expected",
                                     "difference over 30 min, raw", "multi-scale GLR, residual"};
  static constexpr std::size_t kCount = kNames.size();

  void take(const World::Seen& seen, Moment now, Ph true_ph) {
    if (seen.dosed > Millilitres{}) {
      ours_.dosed(now.mono, seen.dosed);
    }
    if (!seen.disturbed) {
      sum_ += seen.ph;
      ++count_;
    }
    if (now.mono.time_since_epoch() % kMinute != Duration::zero()) {
      return;
    }
    response_.take(true_ph, Celsius{25.5});
    ours_.expect(now.mono, response_.per_millilitre(), effect_.expected());
    ours_.follow(now);
    plain_course_.follow(now);
    if (count_ > 0) {
      minute(Ph{sum_ / count_}, now, seen.mixed, seen.rested_since);
    }
    sum_ = 0.0;
    count_ = 0;
  }
  /// How strongly each says "it climbs", after the last whole minute.
  [[nodiscard]] const std::array<double, kCount>& says() const { return says_; }
  [[nodiscard]] double plain() const { return plain_; }
  [[nodiscard]] double usual_effect() const { return effect_.usual(); }
  [[nodiscard]] bool learned() const { return ours_.days_to_go() == 0; }
  /// How often doses were said to do nothing, or far too much, in water where they do as usual.
  struct FalseReports {
    int without_effect = 0, too_large = 0;
  };
  [[nodiscard]] const FalseReports& false_reports() const { return false_reports_; }

 private:
  void minute(Ph value, Moment now, bool mixed, Instant rested_since) {
    station::Effects effects;
    // Ten values a minute, as a station would have more of them than this.
    for (int i = 0; i < 10; ++i) {
      effect_.take(now, value, ours_.by_chemistry(now.mono),
                   {rules::StirrerKnown::State::resting, rested_since}, effects);
    }
    count_reports(effects);
    using Teaches = station::UsualCourse::Teaches;
    const auto teaches = says_[0] < kOurLimit ? Teaches::yes : Teaches::no;
    if (mixed) {
      ours_.take(now, value, teaches, effects);
      plain_course_.take(now, value, teaches, effects);
    }
    climb_.learn(now.mono, value.count());
    plain_ = climb_.rise(now.mono, value.count());
    says_[2] = plain_;
    if (!mixed) {
      return;  // what they said stands
    }
    const auto ours = ours_.residual(now, value);
    const auto without = plain_course_.residual(now, value);
    says_[0] = ours ? ours->climb.count() : 0.0;
    says_[1] = without ? without->climb.count() : 0.0;
    if (without) {
      says_[3] = lines(without->value.count());
    }
  }
  void count_reports(const station::Effects& effects) {
    for (const station::Effect& effect : effects) {
      const auto* raise = std::get_if<station::Raise>(&effect);
      if (raise != nullptr && raise->event.code == "dose-without-effect") {
        ++false_reports_.without_effect;
      }
    }
    const rules::Limits limits;
    const auto seen = effect_.against_usual();
    if (seen && seen->share >= limits.effect_too_large &&
        seen->at_least >= limits.effect_surely_large &&
        seen->of_chemistry >= limits.effect_above_chemistry) {
      ++false_reports_.too_large;
      station::Effects forgotten;
      effect_.begin_anew(forgotten);  // as when a person has looked
    }
  }
  double lines(double residual) {
    residuals_.push_back(residual);
    if (residuals_.size() > kLengths.back()) {
      residuals_.pop_front();
    }
    double most = 0.0;
    for (std::size_t i = 0; i < kLengths.size(); ++i) {
      const std::size_t length = kLengths[i];
      if (residuals_.size() < length) {
        continue;
      }
      const double middle = (static_cast<double>(length) - 1.0) / 2.0;
      double slope = 0.0;
      for (std::size_t k = 0; k < length; ++k) {
        slope += (static_cast<double>(k) - middle) * residuals_[residuals_.size() - length + k];
      }
      square_[i] += 0.0001 * (slope * slope - square_[i]);
      most = std::max(most, slope / std::sqrt(std::max(square_[i], 1e-12)));
    }
    return most;
  }

  static constexpr std::array<std::size_t, 6> kLengths{5, 10, 20, 40, 80, 160};
  station::UsualCourse ours_{{}, kAllowance}, plain_course_{{}, kAllowance};
  station::EffectCheck effect_{station::EffectCheck::Stored{}, {}, 60min};
  FalseReports false_reports_;
  station::WaterResponse response_{{World::kVolume, Dkh{8.0}, Salinity{35.0}}};
  signal::Climb climb_{30min};
  std::deque<double> residuals_;
  std::array<double, kLengths.size()> square_{};
  double sum_ = 0.0;
  int count_ = 0;
  double plain_ = 0.0;
  std::array<double, kCount> says_{};
};

/// How often a detector would have held at each of many limits; a hold ends below two thirds.
class FalseHolds {
 public:
  explicit FalseHolds(double highest) : highest_(highest) {}
  void take(double says) {
    for (std::size_t i = 0; i < kLimits; ++i) {
      if (says >= limit(i)) {
        holds_[i] += held_[i] ? 0 : 1;
        held_[i] = true;
      } else if (says < limit(i) * (2.0 / 3.0)) {
        held_[i] = false;
      }
    }
  }
  /// The lowest limit with no more holds than this.
  [[nodiscard]] double limit_for(double holds) const {
    for (std::size_t i = 0; i < kLimits; ++i) {
      if (holds_[i] <= holds) {
        return limit(i);
      }
    }
    return highest_;
  }
  [[nodiscard]] int at(double wanted) const {
    return holds_[static_cast<std::size_t>(std::lround(wanted / highest_ * kLimits)) - 1];
  }

 private:
  static constexpr std::size_t kLimits = 400;
  [[nodiscard]] double limit(std::size_t i) const {
    return highest_ * static_cast<double>(i + 1) / kLimits;
  }
  double highest_;
  std::array<int, kLimits> holds_{};
  std::array<bool, kLimits> held_{};
};

struct Tank {
  World world;
  Detectors detectors;
  void step(const Extra& extra) {
    const World::Seen seen = world.step(extra);
    detectors.take(seen, world.now, world.ph());
  }
};

double mean(const std::vector<double>& values) {
  return values.empty() ? std::nan("")
                        : std::accumulate(values.begin(), values.end(), 0.0) /
                              static_cast<double>(values.size());
}

/// Minutes until each detector holds, from the moment at which the extra begins; none: a day.
using Delays = std::array<double, Detectors::kCount>;
Delays delays(Tank tank, const Extra& extra, const std::array<double, Detectors::kCount>& limits) {
  Delays found;
  found.fill(1440.0);
  std::size_t open = limits.size();
  for (int second = 10; second <= 86400 && open > 0; second += 10) {
    tank.step(extra);
    for (std::size_t i = 0; i < limits.size(); ++i) {
      if (found[i] == 1440.0 && tank.detectors.says()[i] >= limits[i]) {
        found[i] = second / 60.0;
        --open;
      }
    }
  }
  return found;
}

/// The rise of the animals' pH until the station's detector holds, until the plain limit does, and
/// within a day.
struct Reached {
  double ours = std::nan(""), plain = std::nan(""), nothing = 0.0;
};
Reached reached(Tank tank, const Extra& extra) {
  Tank without = tank;
  Reached found;
  double most = 0.0;
  for (int second = 10; second <= 86400; second += 10) {
    tank.step(extra);
    without.step({});
    most = std::max(most, tank.world.animals_ph() - without.world.animals_ph());
    if (std::isnan(found.ours) && tank.detectors.says()[0] >= kOurLimit) {
      found.ours = most;
    }
    if (std::isnan(found.plain) && tank.detectors.plain() >= kPlainLimit) {
      found.plain = most;
    }
  }
  found.nothing = most;
  return found;
}

using Holds = std::array<FalseHolds, Detectors::kCount>;

/// Lets so many years pass without a climb; some moments of them, from which climbs may begin.
std::vector<Tank> watch(double years, int trials, Tank& tank, Holds& holds) {
  Random random{4};

  while (!tank.detectors.learned() || tank.world.now.mono < Instant{24h * 30}) {
    tank.step({});
  }
  const Instant end = tank.world.now.mono + std::chrono::hours{static_cast<int>(years * 8766)};
  std::vector<Tank> starts;
  const double days = years * 365.25;
  while (tank.world.now.mono < end) {
    tank.step({});
    if (tank.world.now.mono.time_since_epoch() % kMinute == Duration::zero()) {
      for (std::size_t i = 0; i < holds.size(); ++i) {
        holds[i].take(tank.detectors.says()[i]);
      }
      if (uniform(random, 0.0, 1.0) < trials / (days * 1440.0)) {
        starts.push_back(tank);
      }
    }
  }
  return starts;
}

void print_delays(double years, const std::vector<Tank>& starts, const Tank& tank,
                  const Holds& holds) {
  const double days = years * 365.25;
  std::array<double, Detectors::kCount> limits{};
  for (std::size_t i = 0; i < limits.size(); ++i) {
    limits[i] = holds[i].limit_for(days / kFalsePerDays);
  }
  std::printf("%.1f tank-years, %zu climbs of each slope; minutes until a hold (missed in 24 h)\n",
              years, starts.size());
  std::printf("%-34s %8s", "at one false hold in 30 days", "limit");
  for (const double slope : kSlopes) {
    std::printf("  %6.2f pH/h  ", slope);
  }
  std::printf("\n");
  std::array<std::array<std::vector<double>, kSlopes.size()>, Detectors::kCount> found;
  std::array<std::array<int, kSlopes.size()>, Detectors::kCount> missed{};
  for (const Tank& start : starts) {
    for (std::size_t slope = 0; slope < kSlopes.size(); ++slope) {
      const Delays delay = delays(start, {kSlopes[slope]}, limits);
      for (std::size_t i = 0; i < delay.size(); ++i) {
        missed[i][slope] += delay[i] >= 1440.0 ? 1 : 0;
        found[i][slope].push_back(delay[i]);
      }
    }
  }
  for (std::size_t i = 0; i < limits.size(); ++i) {
    std::printf("%-34s %8.3f", Detectors::kNames[i], limits[i]);
    for (std::size_t slope = 0; slope < kSlopes.size(); ++slope) {
      std::printf("  %6.1f (%2.0f %%)", mean(found[i][slope]),
                  100.0 * missed[i][slope] / static_cast<double>(starts.size()));
    }
    std::printf("\n");
  }
  std::printf(
      "doses do %.2f of what chemistry expects; false reports: without effect %d, too large "
      "%d\n",
      tank.detectors.usual_effect(), tank.detectors.false_reports().without_effect,
      tank.detectors.false_reports().too_large);
  std::printf("false holds in 30 days: ours at %.2f %.2f, the plain limit at %.2f %.2f\n",
              kOurLimit, holds[0].at(kOurLimit) / days * 30.0, kPlainLimit,
              holds[2].at(kPlainLimit) / days * 30.0);
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
  std::printf("\n%-34s %s\n", "rise of the animals' pH until",
              "the hold   the plain limit   24 h without either");
  for (const Event& event : events) {
    std::array<std::vector<double>, 3> rises;
    std::array<int, 2> never{};
    const std::size_t few = std::min<std::size_t>(starts.size(), 40);
    for (std::size_t i = 0; i < few; ++i) {
      const Reached rise = reached(starts[i], event.extra);
      never[0] += std::isnan(rise.ours) ? 1 : 0;
      never[1] += std::isnan(rise.plain) ? 1 : 0;
      rises[0].push_back(std::isnan(rise.ours) ? rise.nothing : rise.ours);
      rises[1].push_back(std::isnan(rise.plain) ? rise.nothing : rise.plain);
      rises[2].push_back(rise.nothing);
    }
    std::printf("%-34s +%.3f (%d never)   +%.3f (%d never)   +%.3f\n", event.name, mean(rises[0]),
                never[0], mean(rises[1]), never[1], mean(rises[2]));
  }
}

}  // namespace

int main(int argc, char** argv) {
  const double years = argc > 1 ? std::atof(argv[1]) : 20.0;
  const int trials = argc > 2 ? std::atoi(argv[2]) : 200;
  Tank tank{World{1}, {}};
  Holds holds{FalseHolds{0.4}, FalseHolds{0.4}, FalseHolds{0.4}, FalseHolds{40.0}};
  const std::vector<Tank> starts = watch(years, trials, tank, holds);
  print_delays(years, starts, tank, holds);
  print_rises(starts);
  return 0;
}
