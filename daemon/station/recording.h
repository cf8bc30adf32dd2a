#pragma once

#include <cstdint>
#include <optional>
#include <string>

#include "dosing/account.h"
#include "rules/snapshot.h"
#include "station/disk_pace.h"
#include "station/effects.h"
#include "station/observation.h"
#include "station/unrecorded.h"
#include "units/time.h"

namespace limegate::station {

/// Whether what must be recorded first can be: the ledger's faults, the pace of its disk, and the
/// rows that it lacks after a fault.   Threads: one owner.   Errors: none; they are what it knows.
class Recording {
 public:
  /// Once a second; a disk that goes on being slow is told.
  void step(Moment now, Effects& effects) { disk_.step(now, effects); }
  /// Adds what is known of it.
  void know(rules::Snapshot& known) const;

  void asked(Instant now, const Effects& effects) { disk_.asked(now, effects); }
  void take(Instant now, const OutletReport& report) { disk_.take(now, report); }
  void take(Instant now, const PulseDurable& durable, Effects& effects);
  void take(Instant now, const StirDurable& /*durable*/) { disk_.durable(now); }
  void take(const LedgerFault& fault);
  void take(const LedgerSound& sound, Effects& effects);

  /// This pulse's row was being written when the ledger failed: nothing was sent.
  void not_sent(const PulseRecord& pulse) { unrecorded_.not_sent(pulse); }
  /// A dose that the core has counted is not in the ledger.
  void lacks(const dosing::Dose& dose) { unrecorded_.counted(dose); }

  /// Why nothing can be written; absent: it can.
  [[nodiscard]] const std::optional<std::string>& fault() const { return fault_; }
  [[nodiscard]] bool slow(Instant now) const {
    return disk_.slow_until() && now < *disk_.slow_until();
  }
  /// Whether a row that was asked for until now may have come too late.
  [[nodiscard]] bool was_slow(Instant now) const { return disk_.slow_until() >= now; }

 private:
  DiskPace disk_;
  Unrecorded unrecorded_;
  std::optional<std::string> fault_;
};

}  // namespace limegate::station
