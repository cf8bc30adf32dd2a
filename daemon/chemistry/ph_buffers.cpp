#include "chemistry/ph_buffers.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <span>

namespace limegate::chemistry {
namespace {

// Columns of tests/data/ph_buffers.csv; sources in its head.
constexpr std::array kStandardTemperatures{0.0,  5.0,  10.0, 15.0, 18.0, 19.0, 20.0, 21.0,
                                           22.0, 23.0, 24.0, 25.0, 26.0, 27.0, 28.0, 29.0,
                                           30.0, 35.0, 37.0, 40.0, 45.0, 50.0};
constexpr std::array kTechnicalTemperatures{0.0,  5.0,  10.0, 15.0, 20.0, 25.0,
                                            30.0, 35.0, 40.0, 45.0, 50.0};
constexpr std::array kPhthalate{4.000, 3.998, 3.997, 3.998, 3.999, 4.000, 4.001, 4.001,
                                4.002, 4.003, 4.004, 4.005, 4.006, 4.007, 4.008, 4.009,
                                4.011, 4.018, 4.022, 4.027, 4.038, 4.050};
constexpr std::array kPhosphate6865{6.984, 6.951, 6.923, 6.900, 6.888, 6.884, 6.881, 6.877,
                                    6.874, 6.871, 6.868, 6.865, 6.862, 6.860, 6.857, 6.855,
                                    6.853, 6.844, 6.841, 6.838, 6.834, 6.833};
constexpr std::array kPhosphate7000{7.118, 7.087, 7.059, 7.036, 7.024, 7.020, 7.016, 7.013,
                                    7.009, 7.006, 7.003, 7.000, 6.997, 6.994, 6.992, 6.989,
                                    6.987, 6.977, 6.974, 6.970, 6.965, 6.964};
constexpr std::array kPhosphate7413{7.534, 7.500, 7.472, 7.448, 7.436, 7.432, 7.429, 7.425,
                                    7.422, 7.419, 7.416, 7.413, 7.410, 7.407, 7.405, 7.402,
                                    7.400, 7.389, 7.386, 7.380, 7.373, 7.367};
constexpr std::array kBorax{9.464, 9.395, 9.332, 9.276, 9.245, 9.235, 9.225, 9.216,
                            9.207, 9.197, 9.189, 9.180, 9.171, 9.163, 9.155, 9.147,
                            9.139, 9.102, 9.088, 9.068, 9.038, 9.010};
constexpr std::array kCarbonate{10.317, 10.245, 10.179, 10.118, 10.084, 10.073, 10.062, 10.052,
                                10.042, 10.032, 10.022, 10.012, 10.002, 9.993,  9.984,  9.975,
                                9.966,  9.925,  9.910,  9.889,  9.857,  9.828};
constexpr std::array kCalciumHydroxide{
    13.424, 13.207, 13.003, 12.810, 12.699, 12.663, 12.627, 12.592, 12.557, 12.522, 12.488,
    12.454, 12.420, 12.387, 12.354, 12.322, 12.289, 12.133, 12.072, 11.984, 11.841, 11.705};
constexpr std::array kTechnical4{4.00, 4.00, 4.00, 4.00, 4.00, 4.00, 4.01, 4.02, 4.03, 4.04, 4.06};
constexpr std::array kTechnical7{7.12, 7.09, 7.06, 7.04, 7.02, 7.00, 6.99, 6.99, 6.98, 6.98, 6.97};
constexpr std::array kTechnical10{10.32, 10.25, 10.18, 10.12, 10.06, 10.01,
                                  9.97,  9.93,  9.89,  9.86,  9.83};

struct Curve {
  std::span<const double> x;
  std::span<const double> y;
};

Curve curve_of(StandardBuffer buffer) {
  switch (buffer) {
    case StandardBuffer::phthalate_4_005:
      return {kStandardTemperatures, kPhthalate};
    case StandardBuffer::phosphate_6_865:
      return {kStandardTemperatures, kPhosphate6865};
    case StandardBuffer::phosphate_7_000:
      return {kStandardTemperatures, kPhosphate7000};
    case StandardBuffer::phosphate_7_413:
      return {kStandardTemperatures, kPhosphate7413};
    case StandardBuffer::borax_9_180:
      return {kStandardTemperatures, kBorax};
    case StandardBuffer::carbonate_10_012:
      return {kStandardTemperatures, kCarbonate};
    case StandardBuffer::calcium_hydroxide_12_454:
      return {kStandardTemperatures, kCalciumHydroxide};
    case StandardBuffer::technical_4_00:
      return {kTechnicalTemperatures, kTechnical4};
    case StandardBuffer::technical_7_00:
      return {kTechnicalTemperatures, kTechnical7};
    case StandardBuffer::technical_10_01:
      return {kTechnicalTemperatures, kTechnical10};
  }
  return {};  // unreachable: the switch names every buffer
}

double secant(const Curve& c, std::size_t left) {
  return (c.y[left + 1] - c.y[left]) / (c.x[left + 1] - c.x[left]);
}

/// Slope at a table row: the weighted harmonic mean of its two secants, and flat where they turn.
double slope_at(const Curve& c, std::size_t row) {
  if (row == 0) {
    return secant(c, 0);
  }
  if (row + 1 == c.x.size()) {
    return secant(c, row - 1);
  }
  const double before = secant(c, row - 1);
  const double after = secant(c, row);
  if (before * after <= 0.0) {
    return 0.0;
  }
  const double left = c.x[row] - c.x[row - 1];
  const double right = c.x[row + 1] - c.x[row];
  const double w_before = 2.0 * right + left;
  const double w_after = right + 2.0 * left;
  return (w_before + w_after) / (w_before / before + w_after / after);
}

double value_at(const Curve& c, double x) {
  const auto past = std::upper_bound(c.x.begin() + 1, c.x.end() - 1, x);
  const auto left = static_cast<std::size_t>(past - c.x.begin()) - 1;
  const double width = c.x[left + 1] - c.x[left];
  const double u = (x - c.x[left]) / width;
  const double v = 1.0 - u;
  return c.y[left] * v * v * (1.0 + 2.0 * u) + c.y[left + 1] * u * u * (1.0 + 2.0 * v) +
         width * u * v * (slope_at(c, left) * v - slope_at(c, left + 1) * u);
}

}  // namespace

Result<Ph> buffer_ph(StandardBuffer buffer, Celsius temperature) {
  if (!holds(kBufferTemperatureRange, temperature.count())) {
    return outside(kBufferTemperatureRange, temperature.count());
  }
  return Ph{value_at(curve_of(buffer), temperature.count())};
}

}  // namespace limegate::chemistry
