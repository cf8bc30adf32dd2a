#pragma once

#include <cmath>
#include <limits>
#include <ostream>
#include <string>
#include <vector>

#include "rules/scene.h"

namespace limegate::rules {

/// A named row: what it spoils, and the codes of all holds that must follow (sorted).
struct Row {
  const char* name;
  void (*spoil)(Scene& scene);
  std::vector<std::string> codes;
};
inline void PrintTo(const Row& row, std::ostream* out) { *out << row.name; }

constexpr double kNan = std::numeric_limits<double>::quiet_NaN();
constexpr double kInf = std::numeric_limits<double>::infinity();
inline double just_below(double value) { return std::nextafter(value, -kInf); }
inline double just_above(double value) { return std::nextafter(value, kInf); }

}  // namespace limegate::rules
