#pragma once

#include <optional>
#include <string>
#include <vector>

#include "alerts/record.h"
#include "journal/database.h"
#include "units/quantities.h"

namespace limegate::journal {

/// What stands of a station, as its ledger has it.
struct Standing {
  std::optional<Millilitres> day_volume;  ///< that is in force; absent: none was written down yet
  std::vector<alerts::Record> alerts;     ///< of the station and of the daemon itself
};

/// Reads a ledger beside whoever writes it. Errors: it is not there or can't be read.
[[nodiscard]] Stored<Standing> read_standing(const std::string& ledger, const std::string& station);

}  // namespace limegate::journal
