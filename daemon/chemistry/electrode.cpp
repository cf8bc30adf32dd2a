#include "chemistry/electrode.h"

#include <array>
#include <cmath>
#include <numbers>
#include <optional>

#include "chemistry/ph_buffers.h"

namespace limegate::chemistry {
namespace {

constexpr double kGas = 8.314462618;        // J/(mol K), CODATA 2018
constexpr double kFaraday = 96485.33212;    // C/mol, CODATA 2018
constexpr double kDriftMax = 1.0;           // mV in the last minute; ours: 0.02 pH, still moving
constexpr double kBufferDistanceMin = 1.0;  // pH; ours: nearer, a small error makes a large slope
constexpr double kResidualMax = 3.0;        // mV; ours: 0.05 pH, more than fresh buffers differ by
constexpr double kSlopeOfNothing = 0.15;    // of Nernst; ours: below, both readings are one liquid

using Fault = tl::unexpected<CalibrationFault>;

Fault refuse(CalibrationRefusal refusal, std::size_t first, std::size_t second) {
  return Fault{CalibrationFault{refusal, first, second}};
}

double nernst(Celsius temperature) {
  return std::numbers::ln10 * kGas * (temperature.count() + 273.15) / kFaraday * 1000.0;
}

/// Readings as points of a line: x is what an ideal electrode would show, y what this one shows.
struct Points {
  std::array<double, 3> x{};
  std::array<double, 3> y{};
  std::size_t count = 0;
};

struct Line {
  double slope;
  double offset;
  double residual_max;
};

Line line_through(const Points& p) {
  double x_sum = 0.0;
  double y_sum = 0.0;
  for (std::size_t i = 0; i < p.count; ++i) {
    x_sum += p.x[i];
    y_sum += p.y[i];
  }
  const auto count = static_cast<double>(p.count);
  const double x_mean = x_sum / count;
  const double y_mean = y_sum / count;
  double xx = 0.0;
  double xy = 0.0;
  for (std::size_t i = 0; i < p.count; ++i) {
    xx += (p.x[i] - x_mean) * (p.x[i] - x_mean);
    xy += (p.x[i] - x_mean) * (p.y[i] - y_mean);
  }
  Line line{xy / xx, 0.0, 0.0};
  line.offset = y_mean - line.slope * x_mean;
  for (std::size_t i = 0; i < p.count; ++i) {
    const double residual = std::fabs(p.y[i] - line.offset - line.slope * p.x[i]);
    line.residual_max = std::fmax(line.residual_max, residual);
  }
  return line;
}

bool slope_possible(const Line& line) { return holds(kElectrodeSlopeRange, line.slope * 100.0); }

bool plausible(const Line& line) {
  return slope_possible(line) && holds(kElectrodeOffsetRange, line.offset) &&
         line.residual_max <= kResidualMax;
}

/// How far a line is from a new electrode's, counted in what is still a good one.
double distance_from_new(const Line& line) {
  return std::fabs(line.slope - 1.0) / 0.15 + std::fabs(line.offset) / 30.0;
}

/// The pair that must change places to make sense of the readings.
std::optional<CalibrationFault> swapped_pair(const Points& p) {
  for (std::size_t i = 0; i < p.count; ++i) {
    for (std::size_t j = i + 1; j < p.count; ++j) {
      Points other = p;
      std::swap(other.y[i], other.y[j]);
      if (plausible(line_through(other))) {
        return CalibrationFault{CalibrationRefusal::swapped, i, j};
      }
    }
  }
  return std::nullopt;
}

/// The reading to blame: of three, the one without which the rest look most like an electrode; of
/// two or one, the one farthest from what an ideal electrode would show.
std::size_t contaminated_one(const Points& p) {
  std::size_t blamed = 0;
  double best = -1.0;
  for (std::size_t i = 0; i < p.count; ++i) {
    double suspicion = std::fabs(p.y[i] - p.x[i]);
    if (p.count == 3) {
      const std::size_t a = (i + 1) % 3;
      const std::size_t b = (i + 2) % 3;
      suspicion =
          1.0 / (1.0 + distance_from_new(line_through({{p.x[a], p.x[b]}, {p.y[a], p.y[b]}, 2})));
    }
    if (suspicion > best) {
      best = suspicion;
      blamed = i;
    }
  }
  return blamed;
}

bool usable(const BufferReading& r) {
  return holds(kElectrodePhRange, r.value.count()) &&
         holds(kBufferTemperatureRange, r.temperature.count()) &&
         std::isfinite(r.reading.count()) && std::isfinite(r.drift.count());
}

/// What can be said of the readings before a line is drawn.
std::optional<CalibrationFault> fault_before_line(std::span<const BufferReading> readings) {
  if (readings.empty() || readings.size() > 3) {
    return CalibrationFault{CalibrationRefusal::number_of_buffers, 0, 0};
  }
  for (std::size_t i = 0; i < readings.size(); ++i) {
    if (!usable(readings[i])) {
      return CalibrationFault{CalibrationRefusal::not_usable, i, i};
    }
    if (std::fabs(readings[i].drift.count()) > kDriftMax) {
      return CalibrationFault{CalibrationRefusal::drifting, i, i};
    }
  }
  for (std::size_t i = 0; i < readings.size(); ++i) {
    for (std::size_t j = i + 1; j < readings.size(); ++j) {
      const double apart = std::fabs((readings[j].value - readings[i].value).count());
      if (apart < kBufferDistanceMin) {
        return CalibrationFault{CalibrationRefusal::buffers_equal, i, j};
      }
      const double ideal = apart * nernst(readings[i].temperature);
      const double seen = std::fabs((readings[j].reading - readings[i].reading).count());
      if (seen < kSlopeOfNothing * ideal) {
        return CalibrationFault{CalibrationRefusal::readings_equal, i, j};
      }
    }
  }
  return std::nullopt;
}

ElectrodeVerdict verdict_on(const Electrode& electrode) {
  if (electrode.slope < Percent{80.0} || std::fabs(electrode.offset.count()) > 30.0) {
    return ElectrodeVerdict::worn_out;
  }
  return electrode.slope < Percent{85.0} ? ElectrodeVerdict::ageing : ElectrodeVerdict::good;
}

/// What this electrode's reading falls by for each pH.
Result<Millivolts> millivolts_per_ph(const Electrode& electrode, Celsius temperature) {
  if (!holds(kElectrodeSlopeRange, electrode.slope.count())) {
    return outside(kElectrodeSlopeRange, electrode.slope.count());
  }
  if (!holds(kElectrodeOffsetRange, electrode.offset.count())) {
    return outside(kElectrodeOffsetRange, electrode.offset.count());
  }
  return nernst_slope(temperature).map([&](Millivolts ideal) {
    return ideal * (electrode.slope.count() / 100.0);
  });
}

}  // namespace

Result<Millivolts> nernst_slope(Celsius temperature) {
  if (!holds(kElectrodeTemperatureRange, temperature.count())) {
    return outside(kElectrodeTemperatureRange, temperature.count());
  }
  return Millivolts{nernst(temperature)};
}

Result<Millivolts> reading_of(const Electrode& electrode, Ph ph, Celsius temperature) {
  if (!holds(kElectrodePhRange, ph.count())) {
    return outside(kElectrodePhRange, ph.count());
  }
  return millivolts_per_ph(electrode, temperature).map([&](Millivolts per_ph) {
    return electrode.offset + per_ph * (7.0 - ph.count());
  });
}

Result<Ph> ph_from(const Electrode& electrode, Millivolts reading, Celsius temperature) {
  return millivolts_per_ph(electrode, temperature).and_then([&](Millivolts per_ph) -> Result<Ph> {
    const double ph = 7.0 - (reading - electrode.offset) / per_ph;
    if (!holds(kElectrodePhRange, ph)) {
      return outside(kElectrodePhRange, ph);
    }
    return Ph{ph};
  });
}

tl::expected<ElectrodeCalibration, CalibrationFault> calibrate(
    std::span<const BufferReading> readings) {
  if (const auto fault = fault_before_line(readings)) {
    return Fault{*fault};
  }
  Points p;
  for (const BufferReading& r : readings) {
    p.x[p.count] = (7.0 - r.value.count()) * nernst(r.temperature);
    p.y[p.count] = r.reading.count();
    ++p.count;
  }
  const Line line = p.count == 1 ? Line{1.0, p.y[0] - p.x[0], 0.0} : line_through(p);
  if (!plausible(line)) {
    if (const auto pair = swapped_pair(p)) {
      return Fault{*pair};
    }
    if (slope_possible(line) && line.residual_max <= kResidualMax) {
      return refuse(CalibrationRefusal::implausible_offset, 0, p.count - 1);
    }
    const std::size_t blamed = contaminated_one(p);
    return refuse(CalibrationRefusal::contaminated, blamed, blamed);
  }
  const Electrode electrode{Percent{line.slope * 100.0}, Millivolts{line.offset}};
  return ElectrodeCalibration{electrode,
                              p.count == 1 ? SlopeOrigin::assumed : SlopeOrigin::measured,
                              verdict_on(electrode)};
}

std::string_view words(ElectrodeVerdict verdict) {
  switch (verdict) {
    case ElectrodeVerdict::good:
      return "good: slope and offset are those of a sound electrode";
    case ElectrodeVerdict::ageing:
      return "ageing: clean it, and have a new one at hand";
    case ElectrodeVerdict::worn_out:
      return "worn out: replace it";
  }
  return {};  // unreachable: the switch names every verdict
}

std::string_view words(CalibrationRefusal refusal) {
  switch (refusal) {
    case CalibrationRefusal::number_of_buffers:
      return "give one, two or three buffers";
    case CalibrationRefusal::not_usable:
      return "a value is missing or outside its range: buffers need pH 0 to 14 and 0 to 50 C";
    case CalibrationRefusal::drifting:
      return "the reading was still drifting, more than 1 mV in its last minute: wait and try "
             "again";
    case CalibrationRefusal::buffers_equal:
      return "these two are the same buffer or too near: take buffers at least 1 pH apart";
    case CalibrationRefusal::readings_equal:
      return "the electrode shows the same in both: one liquid measured twice, or cracked glass";
    case CalibrationRefusal::swapped:
      return "these two look swapped: the readings fit when they change places";
    case CalibrationRefusal::contaminated:
      return "this buffer is not what its label says: pour a fresh one (air spoils alkaline "
             "buffers, drops of another buffer any)";
    case CalibrationRefusal::implausible_offset:
      return "more than 100 mV at pH 7: other bottles than stated, or a broken electrode";
  }
  return {};  // unreachable: the switch names every refusal
}

}  // namespace limegate::chemistry
