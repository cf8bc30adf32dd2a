#pragma once

#include <deque>
#include <optional>
#include <vector>

#include "units/time.h"

namespace limegate::signal {

/// What doses truly do to a value, as a share of what they were expected to do. A single dose is
/// lost in noise, so it is seen in step with the cycle in which doses come: the change over the
/// part in which there are doses, less the change over the part in which there are none, at the
/// same pace. Over a whole day the day's own course adds up to nothing.
/// Source: our own reasoning.   Memory: the cycles of one day.
class DoseResponse {
 public:
  /// Where in its cycle a value was taken: at the end of the quiet part, or at its begin.
  enum class Part { before_doses, after_doses };

  /// What one cycle did, as of its end.
  struct Cycle {
    Instant at;
    double seen, expected;
    double value_then, expected_then;  ///< means at its end: the next one begins with them
  };
  /// `cycle` = from one quiet part to the next; `before` = cycles that an earlier run saw, oldest
  /// first.
  explicit DoseResponse(Duration cycle, const std::vector<Cycle>& before = {});

  /// Takes a good, undisturbed value and what all doses so far were expected to have added to it.
  /// `quiet_since` tells one cycle from the next. Answers whether a cycle was completed by it.
  bool take(Instant quiet_since, Part part, Instant at, double value, double expected);
  /// The quiet part is over; the same answer. Without it a part is over when another one begins.
  bool quiet_over() { return gathering_ && close(); }

  struct Share {
    double share;  ///< one: as expected
    double error;  ///< its standard error
    /// Two of them to either side.
    [[nodiscard]] double at_least() const { return share - 2.0 * error; }
    [[nodiscard]] double at_most() const { return share + 2.0 * error; }
  };
  /// Of a cycle that was completed just now.
  [[nodiscard]] const Cycle& newest() const { return cycles_.back(); }
  /// Over the last 24 h. Absent where too few of the day's cycles were seen whole, or none of them
  /// was expected to show.
  [[nodiscard]] std::optional<Share> today() const;
  /// What was seen no longer counts.
  void forget();

 private:
  struct Mean {
    Instant at;  ///< the middle
    double value;
    double expected;
  };
  struct Gathering {
    Instant quiet_since;
    Part part;
    Instant first, last;
    double value = 0.0, expected = 0.0;
    int count = 0;
  };
  bool close();
  [[nodiscard]] bool complete(const Mean& next) const;

  Duration cycle_;
  std::optional<Gathering> gathering_;
  std::optional<Mean> before_, after_;
  std::deque<Cycle> cycles_;
};

}  // namespace limegate::signal
