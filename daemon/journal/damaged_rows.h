#pragma once

#include <cstdint>
#include <string>
#include <type_traits>

#include "journal/database.h"
#include "journal/stored_units.h"
#include "units/time.h"

namespace limegate::journal {

/// Writes down that a row was found damaged, under the key by which it was found.
template <class Row>
[[nodiscard]] Stored<void> note_damaged(const Database& database, Row row, WallTime now) {
  std::int64_t id = 0;
  if constexpr (std::is_same_v<std::decay_t<decltype(std::get<1>(row.fields()))>, std::int64_t>) {
    id = std::get<1>(row.fields());
  }
  return database.prepare("INSERT INTO damaged VALUES(?1, ?2, ?3, ?4)")
      ->bind(ms(now), std::string{Row::kTable}, std::get<0>(row.fields()), id)
      .run();
}

}  // namespace limegate::journal
