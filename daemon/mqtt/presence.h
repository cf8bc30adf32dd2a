#pragma once

#include <set>
#include <string>
#include <vector>

#include "mqtt/image.h"
#include "units/time.h"

namespace limegate::mqtt {

/// Which values of a device are described: a property without a value is none while the device is
/// ready. What goes is no longer described at once, for nothing may be described that is not there;
/// what comes is described with the next description: of those the first comes 10 s after the
/// device was whole at the earliest, which gathers what speaks a little late, and then there is one
/// an hour at most, so that whoever reads the tree need not build it anew all the time.
///
/// Threads: one owner.   Memory: one entry a value.
class Presence {
 public:
  explicit Presence(Duration least_apart) : least_apart_(least_apart) {}

  enum class Description { may_change, at_rest };
  /// Takes what the device has now, always the same values in the same order. What is not described
  /// becomes empty there, what stays as it was is filled in. True: the description changes, with
  /// `without()`.
  [[nodiscard]] bool take(std::vector<Value>& values, Description description, Instant now);
  /// What is not described.
  [[nodiscard]] const Paths& without() const { return without_; }

 private:
  Duration least_apart_;
  std::vector<std::string> newest_;
  Paths without_;
  Instant next_{};
};

}  // namespace limegate::mqtt
