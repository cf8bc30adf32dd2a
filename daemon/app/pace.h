#pragma once

#include "ports/clock.h"
#include "units/time.h"

namespace limegate::app {

/// How the loop's time goes on between ticks.
/// Threads: the loop thread.
class Pace {
 public:
  virtual ~Pace() = default;
  [[nodiscard]] virtual const ports::Clock& clock() const = 0;

  /// The machine's boot, as the ledger knows it.
  [[nodiscard]] virtual std::string boot_id() const = 0;

  enum class Kind {
    real,      ///< ticks come by a timer; commands may still be under way
    lock_step  ///< time stands still until every command has been answered
  };
  [[nodiscard]] virtual Kind kind() const = 0;

  /// Lock step only: lets `by` pass, and takes as much real time as it should.
  virtual void pass(Duration by) = 0;
};

}  // namespace limegate::app
