#pragma once

#include <cstdint>

#include "journal/database.h"

namespace limegate::journal {

/// The version of the ledger's tables that this program writes. An older program refuses it.
constexpr std::int64_t kSchema = 12;

/// Makes the tables in an empty file, brings those of an older version to this one in one
/// transaction, or sees that they are exactly as this version made them.
/// Errors: `damaged` if they are not, or if something else is in the file.
[[nodiscard]] Stored<void> make_schema(const Database& database, std::int64_t version);

/// Checks the structure of every table that a start of that version reads: all but the past, which
/// grows. In a file of an older version that is pulses and stirs: the upgrade writes what a start
/// needs of them anew.
/// Errors: `damaged`.
[[nodiscard]] Stored<void> check_present(const Database& database, std::int64_t version);

}  // namespace limegate::journal
