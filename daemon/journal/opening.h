#pragma once

#include <optional>
#include <string>
#include <vector>

#include "journal/witness.h"
#include "station/history.h"
#include "units/time.h"

namespace limegate::journal {

/// The machine's boot, the moment a ledger is opened in it, and where.
struct Boot {
  std::string id;  ///< changes with every boot of the machine
  Moment now;
  Home home = {};
  /// Observed uptime before this boot, by a ledger that the same run had open: one that is begun
  /// anew, or put in its place, goes on with it, for all that is in hand is reckoned by it.
  std::optional<Duration> lifetime_before = {};
};

/// A station that the ledger is opened for, and what is known of it beside the ledger.
struct Beside {
  std::string station;
  std::optional<station::SecondCopy> copy;  ///< absent: missing or damaged
  std::optional<Witness> witness = {};      ///< absent: missing or damaged
};

/// Whether a person said that the water of a new station was never dosed.
enum class Water { unknown, never_dosed };

struct Prepared {
  std::vector<std::string> added;  ///< stations that are new
  std::vector<std::string> notes;  ///< sentences: which of them begin with a full day, and why
};

}  // namespace limegate::journal
