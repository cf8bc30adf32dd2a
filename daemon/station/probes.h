#pragma once

#include <optional>

#include "rules/snapshot.h"
#include "signal/conditioner.h"
#include "station/observation.h"
#include "station/settings.h"
#include "units/time.h"

namespace limegate::station {

/// What is known of pH and temperature: each probe's samples as readings, and whether pump and
/// stirrer leave the water calm enough to believe them.
/// Threads: one owner.   Errors: none; what is not known is missing.
class Probes {
 public:
  explicit Probes(const Settings& settings);

  /// What a sample says at once, before it is a reading. Of temperature, of a probe that is not
  /// there, and without an answer: nothing.
  enum class Says { nothing, plausible_ph, implausible_ph };
  [[nodiscard]] Says take(Moment now, const ProbeSample& sample);

  /// Of the pH that every rule goes by (of two probes the higher one), or of the temperature.
  [[nodiscard]] signal::Reading reading(rules::Role role, Instant now) const;
  /// Adds each probe's reading, and until when they are disturbed.
  void know(Instant now, rules::Snapshot& known) const;
  [[nodiscard]] bool has_second_ph() const { return second_ph_.has_value(); }

  /// Limewater may flow, which disturbs until it has mixed in; or only the stirrer runs.
  enum class By { pump, stirrer };
  void disturb(Instant now, By by);
  /// Whether the newest pulse has mixed in.
  [[nodiscard]] bool mixed(Instant now) const { return !mixed_at_ || now >= *mixed_at_; }

 private:
  signal::Conditioner ph_;
  std::optional<signal::Conditioner> second_ph_;
  signal::Conditioner temperature_;
  Duration undisturbed_;  ///< after the pump or the stirrer stopped, until a sample counts again
  std::optional<Instant> disturbed_until_, mixed_at_;
};

}  // namespace limegate::station
