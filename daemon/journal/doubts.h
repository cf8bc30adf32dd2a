#pragma once

#include <string>

#include "station/records.h"

namespace limegate::journal {

// What is wrong with a station's part of the ledger. An empty sentence: nothing is.

/// What was found in its rows.
struct Damage {
  std::string doses;  ///< rows of pulses and stirs
  std::string kept;   ///< rows of latches and wishes, or the end of the log
  std::string moved;  ///< the whole of it may be an older copy
};

/// What follows from that, and from what is known beside it.
struct Doubts {
  std::string full;     ///< why the last 24 h count as full
  std::string latches;  ///< why latches and wishes may be missing here
  station::Fate fate = station::Fate::presumed;
};

}  // namespace limegate::journal
