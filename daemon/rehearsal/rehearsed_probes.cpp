#include "rehearsal/rehearsed_probes.h"

#include <algorithm>
#include <chrono>
#include <cmath>

namespace limegate::rehearsal {
namespace {

using Kind = Fault::Kind;

constexpr double kIsopotential = 7.0;  ///< what an open input shows
/// A probe in air wanders between these, at so much in a second (our own scenario).
constexpr double kDryLow = 7.5;
constexpr double kDryHigh = 8.6;
constexpr double kDryWalk = 0.003;

std::optional<double> with_digit(std::optional<double> value, double digit) {
  return value ? std::optional{std::round(*value / digit) * digit} : value;
}

}  // namespace

RehearsedProbes::RehearsedProbes(simulator::Tank& tank, const station::Settings& settings,
                                 std::uint64_t seed)
    : tank_(tank),
      ph_digit_(settings.ph.resolution),
      temperature_digit_(settings.temperature.resolution),
      second_ph_digit_(settings.second_ph ? std::optional{settings.second_ph->resolution}
                                          : std::nullopt),
      random_(~seed),
      shown_ph_(tank.aquarium().ph().count()) {}

std::optional<double> RehearsedProbes::ph(const ActiveFaults& faults, Duration world) {
  double ph = tank_.sample_ph();
  if (faults.has(Kind::ph_silent)) {
    return std::nullopt;
  }
  if (faults.has(Kind::ph_unplugged)) {
    return kIsopotential;
  }
  if (faults.has(Kind::ph_dry)) {
    const double step = kDryWalk * normal_(random_);
    dry_ = std::clamp(dry_.value_or(shown_ph_) + step, kDryLow, kDryHigh);
    return dry_;
  }
  dry_.reset();
  if (faults.has(Kind::ph_stuck)) {
    return shown_ph_;
  }
  if (const auto& offset = faults.find(Kind::ph_offset)) {
    ph += offset->value;
  }
  if (const auto& drift = faults.find(Kind::ph_drift)) {
    ph += drift->value * std::chrono::duration<double>(world - drift->at).count() / 86400.0;
  }
  if (const auto& noise = faults.find(Kind::ph_noise)) {
    ph += noise->value * normal_(random_);
  }
  if (const auto& hum = faults.find(Kind::ph_hum);
      hum && tank_.state(simulator::Tank::Part::pump) == ports::OutletState::on) {
    ph += hum->value;
  }
  if (const auto& slow = faults.find(Kind::ph_slow)) {
    ph = shown_ph_ + (ph - shown_ph_) / std::max(slow->value, 1.0);
  }
  shown_ph_ = ph;
  return ph;
}

RehearsedProbes::Shown RehearsedProbes::sample(const ActiveFaults& faults, Duration world) {
  // Both are always drawn, so that a fault of one probe does not change the other's noise.
  std::optional<double> shown_ph = ph(faults, world);
  std::optional<double> temperature = tank_.sample_temperature();
  if (const auto& offset = faults.find(Kind::temperature_offset)) {
    *temperature += offset->value;
  }
  if (faults.has(Kind::temperature_silent)) {
    temperature.reset();
  }
  if (faults.has(Kind::bus_silent) || faults.has(Kind::replies_lost)) {
    return {};
  }
  Shown shown{with_digit(shown_ph, ph_digit_), with_digit(temperature, temperature_digit_)};
  if (second_ph_digit_) {
    shown.second_ph = with_digit(tank_.sample_ph(), *second_ph_digit_);
  }
  return shown;
}

}  // namespace limegate::rehearsal
