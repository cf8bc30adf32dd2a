#pragma once

#include <array>
#include <cstddef>
#include <deque>
#include <optional>

#include "signal/reading.h"
#include "units/time.h"

namespace limegate::signal {

/// How one probe's samples are judged. Defaults and bounds: the table of limits in rules/limits.h.
struct Conditioning {
  double plausible_low = 0.0;   ///< inclusive
  double plausible_high = 0.0;  ///< inclusive
  Duration age_max = std::chrono::seconds{10};
  double resolution = 0.01;  ///< the last digit the probe shows
  Duration stuck_after = std::chrono::hours{3};
  double jump = 0.3;  ///< a difference of this size within `jump_window` makes it unsteady
  Duration jump_window = std::chrono::seconds{30};
  Duration steady_for = std::chrono::minutes{5};
};

/// Turns the raw samples of one probe into readings with a quality and a reason. It believes
/// nothing by itself: what it has not seen is missing, what is old is stale.
/// Threads: none of its own; one owner.
class Conditioner {
 public:
  explicit Conditioner(const Conditioning& conditioning) : conditioning_(conditioning) {}

  /// Takes a sample that arrived. NaN and infinities are taken as such and make the reading bad.
  void accept(double value, Moment at);

  /// Takes note that the probe did not answer. The last value stays until it is too old.
  void accept_fault();

  /// The reading as of `now`. A sample from the future is as bad as a stale one.
  [[nodiscard]] Reading reading(Instant now) const;

  /// Whether this raw value could be true. A plausible raw value may close the gate at once.
  [[nodiscard]] bool plausible(double value) const;

 private:
  static constexpr std::size_t kMedianLength = 5;
  struct Past {
    Instant at;
    double value;
  };

  [[nodiscard]] double median() const;
  [[nodiscard]] bool jumped(double value, Instant at);
  void forget_before_window(Instant at);
  void widen_by(const Past& past);

  Conditioning conditioning_;
  std::optional<Moment> newest_at_;
  double newest_ = 0.0;
  bool fault_since_newest_ = false;
  std::array<double, kMedianLength> kept_{};  ///< newest plausible samples, a ring
  std::size_t kept_count_ = 0;
  std::size_t kept_next_ = 0;
  double median_ = 0.0;        ///< of what is kept
  std::deque<Past> recent_;    ///< plausible samples of the last jump window, and one before
  Past lowest_{}, highest_{};  ///< of the recent ones; of equal ones the newest
  double unchanged_value_ = 0.0;
  Instant unchanged_since_;
  std::optional<Instant> unsteady_until_;
};

}  // namespace limegate::signal
