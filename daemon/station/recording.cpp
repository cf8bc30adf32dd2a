#include "station/recording.h"

namespace limegate::station {

void Recording::know(rules::Snapshot& known) const {
  known.ledger_fault = fault_;
  known.disk_slow_until = disk_.slow_until();
}

void Recording::take(Instant now, const PulseDurable& durable, Effects& effects) {
  disk_.durable(now);
  if (!fault_) {
    unrecorded_.durable(durable.id, effects);
  }
}

void Recording::take(const LedgerFault& fault) {
  fault_ = fault.why;
  disk_.ledger_failed();
}

void Recording::take(const LedgerSound& /*sound*/, Effects& effects) {
  fault_.reset();
  unrecorded_.state(effects);
}

}  // namespace limegate::station
