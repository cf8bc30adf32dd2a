#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <tuple>

namespace limegate::journal {

/// An entry of the keeper's book as stored (ledger_rows.h says how). A damaged one is dropped, and
/// told.
struct BookRow {
  static constexpr const char* kTable = "book";
  static constexpr const char* kColumns =
      "station, number, at_wall_ms, what, value, unit, kit, entered_lifetime_ms, entered_wall_ms, "
      "undone_wall_ms";
  std::string station;
  std::int64_t number = 0;
  std::int64_t at_wall_ms = 0;
  std::string what, value, unit, kit;
  std::int64_t entered_lifetime_ms = 0;
  std::int64_t entered_wall_ms = 0;
  std::optional<std::int64_t> undone_wall_ms;
  auto fields() {
    return std::tie(station, number, at_wall_ms, what, value, unit, kit, entered_lifetime_ms,
                    entered_wall_ms, undone_wall_ms);
  }
};

/// What the station knew when an entry was written. A damaged one is dropped, and told.
struct BookBesideRow {
  static constexpr const char* kTable = "book_beside";
  static constexpr const char* kColumns = "station, number, given_before_ul, ph_shown_thousandths";
  std::string station;
  std::int64_t number = 0;
  std::optional<std::int64_t> given_before_ul, ph_shown_thousandths;
  auto fields() { return std::tie(station, number, given_before_ul, ph_shown_thousandths); }
};

}  // namespace limegate::journal
