#pragma once

#include <cstdint>

#include "journal/database.h"

namespace limegate::journal {

/// The version of the ledger's tables that this program writes. An older program refuses it.
constexpr std::int64_t kSchema = 7;

/// Makes the tables in an empty file, brings those of an older version to this one in one
/// transaction, or sees that they are exactly as this version made them.
/// Errors: `damaged` if they are not, or if something else is in the file.
[[nodiscard]] Stored<void> make_schema(const Database& database, std::int64_t version);

}  // namespace limegate::journal
