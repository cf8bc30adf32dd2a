#pragma once

#include <cstdint>
#include <string>
#include <tuple>

namespace limegate::journal {

// Rows of what was learned, as stored (ledger_rows.h says how). A damaged one is forgotten.

struct QuarterRow {
  static constexpr const char* kTable = "usual_course";
  static constexpr const char* kColumns = "station, quarter, mean, days";
  std::string station;
  std::int64_t quarter = 0;
  double mean = 0.0;
  std::int64_t days = 0;
  auto fields() { return std::tie(station, quarter, mean, days); }
};

struct EffectRow {
  static constexpr const char* kTable = "dose_effect";
  static constexpr const char* kColumns = "station, share, days";
  std::string station;
  double share = 0.0;
  std::int64_t days = 0;
  auto fields() { return std::tie(station, share, days); }
};

struct CycleRow {
  static constexpr const char* kTable = "dose_cycles";
  static constexpr const char* kColumns =
      "station, at_lifetime_ms, seen, expected, value_then, expected_then, taught";
  std::string station;
  std::int64_t at_lifetime_ms = 0;
  double seen = 0.0, expected = 0.0, value_then = 0.0, expected_then = 0.0;
  std::int64_t taught = 0;
  auto fields() {
    return std::tie(station, at_lifetime_ms, seen, expected, value_then, expected_then, taught);
  }
};

/// No effect and no rate is zero: that stands for none.
struct AnchorRow {
  static constexpr const char* kTable = "dose_anchor";
  static constexpr const char* kColumns =
      "station, first_share, confirmed_ml_per_min, contradicted_ml_per_min, rate_ml_per_min, "
      "beyond_chemistry";
  std::string station;
  double first_share = 0.0;
  double confirmed_ml_per_min = 0.0, contradicted_ml_per_min = 0.0, rate_ml_per_min = 0.0;
  std::int64_t beyond_chemistry = 0;
  auto fields() {
    return std::tie(station, first_share, confirmed_ml_per_min, contradicted_ml_per_min,
                    rate_ml_per_min, beyond_chemistry);
  }
};

struct ReferenceRow {
  static constexpr const char* kTable = "reference";
  static constexpr const char* kColumns =
      "station, ph, share, changed_lifetime_ms, changed_wall_ms";
  std::string station;
  double ph = 0.0;
  double share = 0.0;
  std::int64_t changed_lifetime_ms = 0;
  std::int64_t changed_wall_ms = 0;
  auto fields() { return std::tie(station, ph, share, changed_lifetime_ms, changed_wall_ms); }
};

}  // namespace limegate::journal
