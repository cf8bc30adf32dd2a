#include "rehearsal/rehearsed_probes.h"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <limits>

#include "chemistry/electrode.h"

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

double days_since(const Fault& fault, Duration world) {
  return std::chrono::duration<double>(world - fault.at).count() / 86400.0;
}

}  // namespace

const std::optional<Fault>& FaultyPh::find(const ActiveFaults& faults, Kind of_first) const {
  const int offset = static_cast<int>(of_first) - static_cast<int>(Kind::ph_silent);
  return faults.find(static_cast<Kind>(static_cast<int>(silent_) + offset));
}

double FaultyPh::metered(const ActiveFaults& faults, const Second& second, double ph) const {
  const auto& worn = find(faults, Kind::ph_slope);
  const auto& wrong = find(faults, Kind::ph_compensation);
  if (!worn && !wrong) {
    return ph;
  }
  const double lost = worn ? worn->value * days_since(*worn, second.world) : 0.0;
  const chemistry::Electrode electrode{
      Percent{std::max(100.0 - lost, chemistry::kElectrodeSlopeRange.lowest)}};
  const Celsius assumed{std::clamp(second.water.count() + (wrong ? wrong->value : 0.0),
                                   chemistry::kElectrodeTemperatureRange.lowest,
                                   chemistry::kElectrodeTemperatureRange.highest)};
  // The meter still goes by the slope of the day on which it was calibrated.
  const auto shown =
      chemistry::reading_of(electrode, Ph{ph}, second.water).and_then([&](Millivolts reading) {
        return chemistry::ph_from(chemistry::Electrode{}, reading, assumed);
      });
  return shown ? shown->count() : ph;
}

double FaultyPh::lag(const ActiveFaults& faults, Duration world) const {
  const auto& slow = find(faults, Kind::ph_slow);
  const auto& film = find(faults, Kind::ph_fouling);
  return (slow ? slow->value : 0.0) + (film ? film->value * days_since(*film, world) : 0.0);
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
  ph = metered(faults, second, ph);
  if (const auto& offset = find(faults, Kind::ph_offset)) {
    ph += offset->value;
  }
  if (const auto& drift = find(faults, Kind::ph_drift)) {
    ph += drift->value * days_since(*drift, second.world);
  }
  if (const auto& noise = find(faults, Kind::ph_noise)) {
    ph += noise->value * normal_(random_);
  }
  if (const auto& hum = find(faults, Kind::ph_hum); hum && second.pump_runs) {
    ph += hum->value;
  }
  if (const double seconds = lag(faults, second.world); seconds > 1.0) {
    ph = shown_ + (ph - shown_) / seconds;
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
  const Celsius water = tank_.aquarium().temperature();
  const std::optional<double> ph = ph_.show(faults, {tank_.sample_ph(), world, pump_runs, water});
  std::optional<double> temperature = tank_.sample_temperature();
  const std::optional<double> second_ph =
      second_ph_ ? second_ph_->probe.show(faults, {tank_.sample_ph(), world, pump_runs, water})
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
