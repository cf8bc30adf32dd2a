#include "rehearsal/rehearsed_probes.h"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <limits>

namespace limegate::rehearsal {
namespace {

using Kind = Fault::Kind;

constexpr double kIsopotential = 7.0;  ///< what an open input shows
/// A probe in air wanders between these, at so much in a second (our own scenario).
constexpr double kDryLow = 7.5;
constexpr double kDryHigh = 8.6;
constexpr double kDryWalk = 0.003;

/// Its noise is its own.
constexpr std::uint64_t kSecondSeed = 0x9e3779b97f4a7c15;

std::optional<double> with_digit(std::optional<double> value, double digit) {
  return value ? std::optional{std::round(*value / digit) * digit} : value;
}

}  // namespace

const std::optional<Fault>& FaultyPh::find(const ActiveFaults& faults, Kind of_first) const {
  const int offset = static_cast<int>(of_first) - static_cast<int>(Kind::ph_silent);
  return faults.find(static_cast<Kind>(static_cast<int>(silent_) + offset));
}

std::optional<double> FaultyPh::show(const ActiveFaults& faults, const Second& second) {
  double ph = second.ph;
  if (find(faults, Kind::ph_silent)) {
    return std::nullopt;
  }
  if (find(faults, Kind::ph_not_a_number)) {
    return std::numeric_limits<double>::quiet_NaN();
  }
  if (find(faults, Kind::ph_unplugged)) {
    return kIsopotential;
  }
  if (find(faults, Kind::ph_dry)) {
    const double step = kDryWalk * normal_(random_);
    dry_ = std::clamp(dry_.value_or(shown_) + step, kDryLow, kDryHigh);
    return dry_;
  }
  dry_.reset();
  if (find(faults, Kind::ph_stuck)) {
    return shown_;
  }
  if (const auto& offset = find(faults, Kind::ph_offset)) {
    ph += offset->value;
  }
  if (const auto& drift = find(faults, Kind::ph_drift)) {
    ph += drift->value * std::chrono::duration<double>(second.world - drift->at).count() / 86400.0;
  }
  if (const auto& noise = find(faults, Kind::ph_noise)) {
    ph += noise->value * normal_(random_);
  }
  if (const auto& hum = find(faults, Kind::ph_hum); hum && second.pump_runs) {
    ph += hum->value;
  }
  if (const auto& slow = find(faults, Kind::ph_slow)) {
    ph = shown_ + (ph - shown_) / std::max(slow->value, 1.0);
  }
  shown_ = ph;
  return ph;
}

RehearsedProbes::RehearsedProbes(simulator::Tank& tank, const station::Settings& settings,
                                 std::uint64_t seed)
    : tank_(tank),
      ph_digit_(settings.ph.resolution),
      temperature_digit_(settings.temperature.resolution),
      ph_(Kind::ph_silent, tank.aquarium().ph().count(), ~seed) {
  if (settings.second_ph) {
    second_ph_ = Second{settings.second_ph->resolution,
                        {Kind::second_silent, tank.aquarium().ph().count(), seed ^ kSecondSeed}};
  }
}

RehearsedProbes::Shown RehearsedProbes::sample(const ActiveFaults& faults, Duration world) {
  // All are always drawn, so that a fault of one probe does not change the other's noise.
  const bool pump_runs = tank_.state(simulator::Tank::Part::pump) == ports::OutletState::on;
  const std::optional<double> ph = ph_.show(faults, {tank_.sample_ph(), world, pump_runs});
  std::optional<double> temperature = tank_.sample_temperature();
  const std::optional<double> second_ph =
      second_ph_ ? second_ph_->probe.show(faults, {tank_.sample_ph(), world, pump_runs})
                 : std::nullopt;
  if (const auto& offset = faults.find(Kind::temperature_offset)) {
    *temperature += offset->value;
  }
  if (faults.has(Kind::temperature_silent)) {
    temperature.reset();
  }
  if (faults.has(Kind::bus_silent) || faults.has(Kind::replies_lost)) {
    return {};
  }
  return {with_digit(ph, ph_digit_), with_digit(temperature, temperature_digit_),
          second_ph_ ? with_digit(second_ph, second_ph_->digit) : std::nullopt};
}

}  // namespace limegate::rehearsal
