#pragma once

#include <functional>
#include <optional>

#include <tl/expected.hpp>

#include "ports/bus_fault.h"
#include "units/time.h"

namespace limegate::ports {

enum class OutletState { off, on };

/// What an outlet reads.
struct OutletReading {
  OutletState state = OutletState::off;
  /// Off since then at the latest, by an off of the driver's own that was confirmed. Absent while
  /// it is on, and where a board ends its runs by itself.
  std::optional<Instant> off_since = {};

  // A state alone is a reading: most outlets know no more.
  OutletReading(OutletState read) : state(read) {}  // NOLINT(google-explicit-constructor)
  OutletReading(OutletState read, std::optional<Instant> since) : state(read), off_since(since) {}
  friend bool operator==(const OutletReading& a, OutletState b) { return a.state == b; }
};

/// Whether a failed command can have had an effect. `maybe` must be treated as done in full.
enum class Sent { no, maybe };

struct OutletFault {
  Sent sent = Sent::maybe;
  BusFault cause = BusFault::timed_out;
};
using OutletAnswer = tl::expected<OutletReading, OutletFault>;

/// A switched output. There is no way to switch it on without an end.
/// Threads: called from the loop thread only; never blocks; each reply is delivered exactly once,
/// in the loop thread.
class Outlet {
 public:
  using Reply = std::function<void(OutletAnswer)>;
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
