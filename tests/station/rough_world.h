#pragma once

#include <algorithm>
#include <chrono>
#include <functional>
#include <map>
#include <optional>
#include <random>
#include <set>
#include <string>
#include <vector>

#include "station/station.h"

namespace limegate::station {

/// A tank whose ledger and outlets answer late, wrongly and out of order, and what
/// is true of it: how much flowed, and when the stirrer ran. It keeps the list of broken promises.
///
/// What the ports promise holds here too (ports/outlet.h): runs and offs of one outlet are answered
/// once each and in the order in which they were carried out, and an off may overtake a run. Looks
/// may come in any order and late. Each is answered once.
class RoughWorld {
 public:
  explicit RoughWorld(unsigned seed) : random_(seed), core_(settings(), {}, now_) {}

  /// Short cycles, so that much happens in little time; the core takes any numbers.
  static Settings settings() {
    using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
    Settings settings;
    settings.limits.hour = Millilitres{60.0};
    settings.limits.day = Millilitres{300.0};
    settings.limits.settle = settings.plan.settle = 3min;
    settings.limits.proven = 20s;
    settings.limits.undisturbed = 5s;
    settings.ph.plausible_low = settings.limits.ph_plausible_low;
    settings.ph.plausible_high = settings.limits.ph_plausible_high;
    settings.ph.steady_for = 20s;
    settings.temperature.plausible_low = settings.limits.temperature_plausible_low;
    settings.temperature.plausible_high = settings.limits.temperature_plausible_high;
    settings.plan.stir = {1min, 10min};
    settings.plan.day_volume = Millilitres{2880.0};  // 20 mL a window: the limits must hold it back
    settings.plan.pulse_max = Millilitres{5.0};
    settings.plan.pump_rate = MillilitresPerMinute{10.0};
    settings.pump_rate_dated = true;
    return settings;
  }

  void second();

  std::vector<std::string> broken;  ///< promises
  std::size_t runs = 0, cut_short = 0, stirs = 0, unknowns = 0, restarts = 0, obeyed = 0;

 private:
  using Command = OutletReport::Command;
  using Result = OutletReport::Result;
  struct Row {
    Millilitres counted;
    Instant end;
    double flowed_ml = 0.0;
    bool durable = false;
  };
  /// An outlet as it truly is, and the commands on their way to it.
  struct Outlet {
    Instant on_until{};
    Instant last_answer{};  ///< of a run or an off: answers keep their order
    std::int64_t running_id = 0;
  };
  struct Event {
    Instant at;
    std::uint64_t order;
    std::function<void()> what;
    bool ours = false;  ///< reaches this process; a restart forgets it
  };

  bool chance(double share) { return std::uniform_real_distribution<>{}(random_) < share; }
  Duration within(Duration most) {
    return Duration{std::uniform_int_distribution<Duration::rep>{0, most.count()}(random_)};
  }
  void later(Duration delay, bool ours, std::function<void()> what) {
    events_.push_back({now_.mono + delay, ++order_, std::move(what), ours});
  }
  void promise(bool kept, const std::string& what) {
    if (!kept && broken.size() < 5) {
      broken.push_back(what + " at second " +
                       std::to_string((now_.mono - kStart) / std::chrono::seconds{1}));
    }
  }
  Outlet& outlet(rules::OutletRole role) {
    return role == rules::OutletRole::pump ? pump_ : stirrer_;
  }

  void see(const Observation& observation);
  void obey(const station::Command& command);
  void carry_out(const Effects& effects, bool from_step);
  void check_allowances(Millilitres next);
  void carry_out(const AppendPulse& append);
  void carry_out(const ClosePulse& closed);
  void carry_out(const AppendStir& append);
  void carry_out(const Run& run);
  void carry_out(const SwitchOff& off);
  void carry_out(const ReadBack& look);
  void answer_in_order(rules::OutletRole role, Command command, Result result);
  void pass_to(Instant end);
  void flow(Duration lasting);
  void sample();
  void disturb();
  void restart();

  static constexpr Instant kStart{std::chrono::hours{100}};
  std::mt19937 random_;
  Moment now_{kStart, WallTime{std::chrono::hours{490000}}};
  Station core_;
  std::vector<Event> events_;
  std::uint64_t order_ = 0;
  std::map<std::int64_t, Row> rows_;
  std::set<std::int64_t> sent_;
  std::int64_t newest_stir_ = 0;
  Outlet pump_, stirrer_;
  Instant last_stirred_ = kStart;              ///< truly
  std::optional<Instant> last_told_stirring_;  ///< by what the core was told or asked for
  double ph_ = 8.2;
};

}  // namespace limegate::station
