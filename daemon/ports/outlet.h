#pragma once

#include <functional>

#include <tl/expected.hpp>

#include "ports/bus_fault.h"
#include "units/time.h"

namespace limegate::ports {

enum class OutletState { off, on };

/// Whether a failed command can have had an effect. `maybe` must be treated as done in full.
enum class Sent { no, maybe };

struct OutletFault {
  Sent sent = Sent::maybe;
  BusFault cause = BusFault::timed_out;
};

/// A switched output. There is no way to switch it on without an end.
/// Threads: called from the loop thread only; never blocks; each reply is delivered exactly once,
/// in the loop thread.
class Outlet {
 public:
  using Reply = std::function<void(tl::expected<OutletState, OutletFault>)>;
  virtual ~Outlet() = default;

  /// Switches on for `duration` (rounded down to the board's unit; the board's own timer ends it
  /// where it has one, else the driver's deadline) and replies with the state read back.
  /// Nothing is sent after `send_before`: the reply is then {Sent::no, timed_out}.
  virtual void run_for(Duration duration, Instant send_before, Reply reply) = 0;

  /// Switches off and replies with the state read back. Overtakes every waiting read.
  virtual void off(Reply reply) = 0;

  /// Reads the state without changing it.
  virtual void read_back(Reply reply) = 0;
};

}  // namespace limegate::ports
