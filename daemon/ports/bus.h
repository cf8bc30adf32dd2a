#pragma once

#include <cstddef>
#include <functional>
#include <vector>

#include <tl/expected.hpp>

#include "ports/bus_fault.h"
#include "units/time.h"

namespace limegate::ports {

/// One answer of a probe, in the unit its config names (pH, °C; an input gives 0 or 1).
struct Sample {
  std::size_t probe = 0;  ///< index in the list the bus was made with
  tl::expected<double, BusFault> value{0.0};
  Instant at;  ///< when the answer had arrived
};

/// What a poll gave so far: some samples, and whether they are the last.
struct Answers {
  std::vector<Sample> samples;
  bool last = true;
};

/// A field bus with its probes.
/// Threads: called from the loop thread only; never blocks; replies are delivered in the loop
/// thread, also when the bus is dead.
class Bus {
 public:
  using PollReply = std::function<void(Answers)>;
  virtual ~Bus() = default;

  /// Reads the named probes as one job. The reply is called as answers come, so that none waits
  /// for a slower one: each probe's sample comes exactly once, and the last call says that it is.
  /// At most one poll is outstanding: the caller waits for the last reply (and lets staleness
  /// speak) before it asks again.
  virtual void poll(std::vector<std::size_t> probes, PollReply reply) = 0;

  /// Whether it has left something unanswered for longer than any device can make it wait: its
  /// thread hangs, and only the end of this process frees its line. A bus without a thread does
  /// not.
  [[nodiscard]] virtual bool hangs() const { return false; }
};

}  // namespace limegate::ports
