// What one second of one station costs: ns per `step`, and per `observe` of a reading.
#include <cmath>

#include <benchmark/benchmark.h>

#include "station/station.h"

namespace {

using limegate::Duration;
using limegate::Instant;
using limegate::Moment;
using limegate::WallTime;
namespace station = limegate::station;
namespace rules = limegate::rules;
using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

station::Settings settings() {
  station::Settings settings;
  settings.name = "bench";
  settings.limits.hour = limegate::Millilitres{348};
  settings.limits.day = limegate::Millilitres{2000};
  settings.ph = {7.0, 9.2};
  settings.temperature = {15.0, 35.0};
  settings.plan.day_volume = limegate::Millilitres{2000};
  settings.plan.pulse_max = limegate::Millilitres{20};
  settings.plan.pump_rate = limegate::MillilitresPerMinute{50};
  settings.pump_rate_dated = true;
  return settings;
}

/// The core with everything around it that answers at once and in its favour.
class Driven {
 public:
  Driven() : core_(settings(), {}, now_) {}

  void second() {
    now_.mono += 1s;
    now_.wall += 1s;
    carry_out(core_.step(now_));
  }
  void read() {
    const double t = std::chrono::duration<double>(now_.mono.time_since_epoch()).count();
    carry_out(
        core_.observe(now_, station::ProbeSample{rules::Role::ph, 8.2 + 0.02 * std::sin(t / 600)}));
    carry_out(core_.observe(
        now_, station::ProbeSample{rules::Role::temperature, 25.5 + 0.1 * std::sin(t / 900)}));
  }
  [[nodiscard]] std::int64_t pulses() const { return pulses_; }

 private:
  // What is carried out is reported, and a report may ask for more: a few calls deep at most.
  // NOLINTNEXTLINE(misc-no-recursion)
  void carry_out(const station::Effects& effects) {
    using Result = station::OutletReport::Result;
    using Command = station::OutletReport::Command;
    for (const station::Effect& effect : effects) {
      if (const auto* pulse = std::get_if<station::AppendPulse>(&effect)) {
        ++pulses_;
        (void)core_.observe(now_, station::PulseDurable{pulse->pulse.id});
      } else if (const auto* stir = std::get_if<station::AppendStir>(&effect)) {
        (void)core_.observe(now_, station::StirDurable{stir->stir.id});
      } else if (const auto* run = std::get_if<station::Run>(&effect)) {
        until(run->role) = now_.mono + run->duration;
        report(run->role, Command::run, Result::on);
      } else if (const auto* off = std::get_if<station::SwitchOff>(&effect)) {
        until(off->role) = now_.mono;
        report(off->role, Command::off, Result::off);
      } else if (const auto* look = std::get_if<station::ReadBack>(&effect)) {
        report(look->role, Command::read_back,
               until(look->role) > now_.mono ? Result::on : Result::off);
      }
    }
  }
  Instant& until(rules::OutletRole role) {
    return role == rules::OutletRole::pump ? pump_until_ : stirrer_until_;
  }
  // NOLINTNEXTLINE(misc-no-recursion): as above
  void report(rules::OutletRole role, station::OutletReport::Command command,
              station::OutletReport::Result result) {
    carry_out(core_.observe(now_, station::OutletReport{role, command, result, {}}));
  }

  Moment now_{Instant{1h}, WallTime{std::chrono::hours{24 * 20000}}};
  Instant pump_until_{};
  Instant stirrer_until_{};
  std::int64_t pulses_ = 0;
  station::Station core_;
};

/// The step alone, as far as it can be had alone: readings come only every fifth second.
void step_over_days(benchmark::State& state) {
  Driven driven;
  std::int64_t second = 0;
  while (state.KeepRunning()) {
    if (second++ % 5 == 0) {
      driven.read();
    }
    driven.second();
  }
  state.counters["pulses"] = static_cast<double>(driven.pulses());
}

/// A second of a station with both of its readings: what a rehearsal pays.
void step_and_readings_over_days(benchmark::State& state) {
  Driven driven;
  while (state.KeepRunning()) {
    driven.read();
    driven.second();
  }
  state.counters["pulses"] = static_cast<double>(driven.pulses());
  state.counters["days_per_s"] = benchmark::Counter(static_cast<double>(state.iterations()) / 86400,
                                                    benchmark::Counter::kIsRate);
}

}  // namespace

BENCHMARK(step_and_readings_over_days)->Iterations(2'000'000);
BENCHMARK(step_over_days)->Iterations(2'000'000);
BENCHMARK_MAIN();
