#pragma once

#include <cstdint>
#include <vector>

#include "dosing/account.h"
#include "station/effects.h"

namespace limegate::station {

/// Rows that a ledger lacks after a fault, though the core has counted them: stated again until it
/// has them, so that no number of a pulse is missing in it.
class Unrecorded {
 public:
  /// Its write failed before anything was sent.
  void not_sent(const PulseRecord& pulse);
  /// Counted, and not found in the ledger.
  void counted(const dosing::Dose& dose);
  /// The ledger can be written again.
  void state(Effects& effects) const;
  /// A row is durable: it is closed, as not given or in full.
  void durable(std::int64_t id, Effects& effects);

 private:
  struct Row {
    PulseRecord pulse;
    Fate fate;  ///< not_given, or given
  };
  [[nodiscard]] bool has(std::int64_t id) const;
  std::vector<Row> rows_;
};

}  // namespace limegate::station
