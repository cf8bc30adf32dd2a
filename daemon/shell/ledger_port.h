#pragma once

#include <functional>
#include <optional>
#include <string>

#include "station/effects.h"
#include "units/time.h"

namespace limegate::shell {

/// Where a station's entries are written.
/// Threads: called from the loop thread; replies there, exactly once, with the fault if there is
/// one. After a fault nothing is to be trusted until the ledger was read again.
class LedgerPort {
 public:
  using Reply = std::function<void(const std::optional<std::string>& fault)>;
  virtual ~LedgerPort() = default;
  virtual void write(const std::string& station, const station::Entry& entry, WallTime now,
                     Reply reply) = 0;
};

/// What a person is told when the ledger fails, and when it is sound again.
[[nodiscard]] station::Event ledger_failed(WallTime now, const std::string& why);
[[nodiscard]] station::Event ledger_sound(WallTime now);
/// What was found at its opening.
[[nodiscard]] station::Event ledger_note(WallTime now, const std::string& note);

}  // namespace limegate::shell
