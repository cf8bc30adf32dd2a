#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "rehearsal/fault.h"
#include "units/quantities.h"
#include "units/time.h"

namespace limegate::rehearsal {

/// What one kind of physical fault did at its worst, beside what it can do at most.
/// Millilitres are of limewater beyond what was commanded, grams of powder carried over
/// undissolved; pH is the rise in the display above that at the fault's begin. The bounds are those
/// of the one that came nearest to its own, and of equally near ones the largest.
struct Exposed {
  std::size_t times = 0;  ///< judged: nothing else physical happened meanwhile
  std::size_t mixed = 0;  ///< not judged
  struct Measure {
    double worst = 0, bound = 0;
  } millilitres, powder_g, rise;
  /// From the first excess to the first alert; absent if never one came.
  std::optional<Duration> longest_until_alert;
  void add(const Exposed& other);  ///< in any order the same
};
using Exposures = std::map<Fault::Kind, Exposed>;

/// The derivation of a bound, one sentence for people; empty for faults that have none.
[[nodiscard]] const char* bound_reason(Fault::Kind kind);

/// Measures each physical fault while it lasts and compares it with its bound.
/// Threads: one owner.
class ExposureWatch {
 public:
  struct Site {
    MillilitresPerMinute rate;  ///< the highest
    Litres water;
    Litres reactor;
    double powder_g = 0;  ///< of a full charge
  };
  explicit ExposureWatch(const Site& site) : site_(site) {}

  /// One fault that lasts, with what came of it so far.
  struct Window {
    Fault fault;
    Ph begun;
    double highest = 0;
    double excess_ml = 0, commanded_ml = 0, powder_mmol = 0, down_s = 0;
    double pulses = 1;  ///< one may be under way
    bool mixed = false;
    std::optional<Duration> first_excess, first_alert;
  };

  void begin(const Fault& fault, Ph display);
  /// What is no physical fault and moves the pH or hides the pump: the fault is not judged then.
  void disturb();

  struct Second {
    Duration at{};
    Millilitres flowed;     ///< truly
    Millilitres commanded;  ///< by a command that stands, at the highest rate
    double powder_mmol = 0;
    Ph display;
    bool program_runs = true;
    bool told = false;  ///< what waits for a person says of the pump already
  };
  void second(const Second& now);
  void pulse_sent();
  /// A person was told something, by the code of the event; only a word about the pump counts.
  void alerted(std::string_view code);

  /// Sentences about bounds that were passed, if any.
  [[nodiscard]] std::vector<std::string> end(Fault::Kind kind);

  /// Whether a physical fault lasts or has just ended.
  [[nodiscard]] bool explains() const;
  [[nodiscard]] std::vector<Fault::Kind> open() const;
  [[nodiscard]] const Exposures& exposures() const { return exposures_; }

 private:
  [[nodiscard]] static std::vector<std::string> passed(const Exposed& exposed,
                                                       const Window& window);

  Site site_;
  Duration now_{};
  std::optional<Duration> ended_at_;
  std::map<Fault::Kind, Window> windows_;
  Exposures exposures_;
};

}  // namespace limegate::rehearsal
