#pragma once

#include <cstdint>
#include <string>
#include <tuple>

namespace limegate::journal {

// Rows of alerts and of messages about them, as stored (ledger_rows.h says how). A damaged one is
// dropped: what stands is found out again.

struct AlertRow {
  static constexpr const char* kTable = "alerts";
  static constexpr const char* kColumns = "station, id, record";
  std::string station, id;
  std::string record;  ///< alerts::Record as JSON
  auto fields() { return std::tie(station, id, record); }
};

struct AlertMessageRow {
  static constexpr const char* kTable = "alert_messages";
  static constexpr const char* kColumns = "number, lifetime_ms, wall_ms, event";
  std::int64_t number = 0;  ///< in the order of their making
  std::int64_t lifetime_ms = 0;
  std::int64_t wall_ms = 0;
  std::string event;  ///< a CloudEvent as JSON
  auto fields() { return std::tie(number, lifetime_ms, wall_ms, event); }
};

}  // namespace limegate::journal
