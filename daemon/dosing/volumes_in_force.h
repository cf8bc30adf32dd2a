#pragma once

#include <utility>
#include <vector>

#include "dosing/account.h"
#include "units/quantities.h"

namespace limegate::dosing {

/// A day's volume, and since when it was in force; until the next one.
struct VolumeInForce {
  Stamp since;
  Millilitres volume;
};

/// The day's volumes that were in force in the last 24 hours. No 24 hours give more than the
/// largest of them, and one pulse: so a volume that is lowered stops nobody for half a day, and
/// neither a restart nor the same wish again frees any.
/// Threads: one owner.   Memory: the changes of one day.
class VolumesInForce {
 public:
  VolumesInForce() = default;
  explicit VolumesInForce(std::vector<VolumeInForce> known) : known_(std::move(known)) {}

  /// From now on this one is in force. Answers whether that changes anything.
  bool set(Stamp now, Millilitres volume);
  /// The largest of the last 24 hours; zero if none is known.
  [[nodiscard]] Millilitres largest(Stamp now) const;
  [[nodiscard]] const std::vector<VolumeInForce>& known() const { return known_; }

 private:
  std::vector<VolumeInForce> known_;  ///< oldest first
};

}  // namespace limegate::dosing
