#pragma once

#include <array>
#include <cstdint>
#include <deque>

#include "units/quantities.h"
#include "units/time.h"

namespace limegate::dosing {

/// A moment on two clocks: the machine's uptime as observed over all boots, which only ever grows
/// and by which a dose ages, and the wall clock, for people.
struct Stamp {
  Duration lifetime{};
  WallTime wall;
  friend bool operator==(const Stamp&, const Stamp&) = default;
};

/// Age of something stamped `then`: observed uptime alone, never negative. It never exceeds the
/// time that truly passed, so no dose is older than it is; and a wall clock that is stepped, wrong
/// or unset neither frees volume nor makes old doses fresh.
[[nodiscard]] Duration age(Stamp then, Stamp now);

/// A dose as the allowance sees it.
struct Dose {
  std::int64_t id = 0;
  Stamp end;  ///< no part of it flowed later than this
  Millilitres volume;
};

/// The doses of the last 24 hours and their sums in the sliding windows.
/// Threads: one owner.   Memory: grows with the doses of one day.
class Account {
 public:
  /// One that is known may only have grown: the larger volume and the later end count.
  void add(const Dose& dose);

  /// Replaces the volume of a dose that was cut short or not given. Unknown ids are ignored.
  void revise(std::int64_t id, Millilitres volume);

  [[nodiscard]] Millilitres last_hour(Stamp now) const { return sums(now)[0]; }
  [[nodiscard]] Millilitres last_day(Stamp now) const { return sums(now)[1]; }

  /// Takes a dose as another source has it: the larger volume counts.
  void merge(const Dose& dose);

  /// Drops what left the 24-hour window.
  void prune(Stamp now);

  [[nodiscard]] const std::deque<Dose>& doses() const { return doses_; }

  /// The newest id seen; zero if none.
  [[nodiscard]] std::int64_t newest_id() const { return newest_id_; }

 private:
  using Sums = std::array<Millilitres, 2>;
  [[nodiscard]] const Sums& sums(Stamp now) const;

  std::deque<Dose> doses_;
  std::int64_t newest_id_ = 0;
  // The sums change only when a dose comes, changes, or has been observed for a whole window.
  mutable Sums sums_{};
  mutable Duration sums_valid_from_{};
  mutable Duration sums_valid_until_{};
  mutable bool sums_known_ = false;
};

}  // namespace limegate::dosing
