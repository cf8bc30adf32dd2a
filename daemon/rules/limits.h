#pragma once

#include <optional>
#include <string>
#include <vector>

#include "units/quantities.h"
#include "units/time.h"

namespace limegate::rules {

/// What a day's doses do to pH at sound stations, as a share of what chemistry expects of them: far
/// beyond it something is wrong with pump, limewater, water or file.
/// Source: bench_effect, rounded outwards.
struct SoundEffect {
  static constexpr double kLeast = 0.6;
  static constexpr double kMost = 1.8;
  static constexpr double kWidened = 1.5;
  static constexpr double kFarTooLittle = kLeast / kWidened;
  static constexpr double kFarTooMuch = kMost * kWidened;
};

/// So often the pH is read while limewater flows.
constexpr Duration kReadFlowing = std::chrono::milliseconds{200};

/// The limits the gate keeps. pH is on the probe's own (NBS/IUPAC) scale. A file may tighten them;
/// what no file can pass stands in config/schema, beside each key.
/// Source: common practice or our own reasoning, as limegate-rules(7) says for each.
struct Limits {
  Ph ceiling{8.45};
  Ph ceiling_resume{8.40};
  Ph second_ceiling{8.60};
  PhChange climb{0.12};
  Duration climb_window = std::chrono::minutes{30};
  Duration climb_silence = std::chrono::seconds{60};  ///< a longer one breaks the window
  /// Once the usual course of the day is learned: how far what is left may climb within two hours,
  /// a share of that beyond the allowance, another above the mean of two days
  /// (signal/joined_climb.h); and how much further while the pump rests before a person must come.
  /// Source: bench_climb; one false hold in 30 harsh days at most.
  PhChange unusual_climb{0.088};
  PhChange climb_allowance_per_h{0.12};
  PhChange climb_goes_on{0.05};
  Duration climb_goes_on_for = std::chrono::minutes{15};
  /// Above the pH of undosed days at that hour; it is over below three quarters of that.
  PhChange rise{0.20};
  /// Between two pH probes for so long; and half as much again at once.
  PhChange ph_disagreement{0.10};
  Duration ph_disagreement_for = std::chrono::minutes{30};
  Duration reading_age_max = std::chrono::seconds{10};
  Duration reading_age_flowing = std::chrono::seconds{2};  ///< of pH, while the pump runs
  Duration settle = std::chrono::minutes{60};
  Duration proven = std::chrono::minutes{5};
  /// How long after the pump or the stirrer stopped a sample still counts as disturbed.
  Duration undisturbed = std::chrono::seconds{60};
  double ph_plausible_low = 7.1;  ///< an open input shows 7.00, give or take some hundredths
  double ph_plausible_high = 9.2;
  double temperature_plausible_low = 15.0;   ///< °C
  double temperature_plausible_high = 35.0;  ///< °C
  double temperature_usual_low = 22.0;       ///< °C; outside it is told to a person, not a hold
  double temperature_usual_high = 29.0;      ///< °C
  /// An attended run: priming or pump calibration with a person beside it.
  Duration attended_duration = std::chrono::minutes{5};
  Millilitres attended_volume{300.0};
  /// A day's doses that raise pH by so many times what they usually do, and surely by so many, are
  /// no clear limewater.
  double effect_too_large = 1.7;
  double effect_surely_large = 1.3;
  /// And more than a sound station's by chemistry, or a pump that was mended after it had worn out
  /// would be taken for milk.
  double effect_above_chemistry = SoundEffect::kMost;
  /// A test above it holds. Source: our own reasoning; reefs have 7 to 11 dKH (common practice).
  Dkh alkalinity_max{11.0};
  /// So long a test of alkalinity says what the water is. Source: our own reasoning.
  Duration alkalinity_counts_for = std::chrono::hours{24 * 14};
  /// By chemistry at the present water, in a closed system: of one pulse, and of a sliding hour.
  /// They only tighten the volumes below.
  PhChange pulse_rise{0.02};
  PhChange hour_rise{0.08};
  Millilitres hour;  ///< sliding hour; from the site's facts
  Millilitres day;   ///< sliding 24 h; from the site's facts
};

/// What the rules remember from one step to the next: which limit was tripped and has not cleared.
struct Memory {
  /// What is not known since a start: whether it was tripped. Until each was seen in calm water it
  /// trips where it would clear.
  struct Unsure {
    bool ceiling = false, climb = false, unusual_climb = false, risen = false;
  } unsure;
  bool ceiling_tripped = false;
  bool climb_tripped = false;
  bool unusual_climb_tripped = false;
  /// An unusual climb while the pump rests: since when, and the lowest that was left of pH since.
  /// So a limit that trips earlier never latches later.
  struct AtRest {
    Instant since;
    PhChange lowest;
  };
  std::optional<AtRest> climb_at_rest;
  bool climb_goes_on_latched = false;
  bool risen_tripped = false;
  std::optional<Instant> residual_unseen_since, rise_unseen_since;
  std::optional<Instant> disagree_since;
  bool disagreement_tripped = false;
  bool effect_too_large_latched = false;
  std::optional<double> effect_seen;  ///< when it was latched
  bool alkalinity_latched = false;
  bool second_ceiling_latched = false;
  bool pump_timer_latched = false;
  bool pump_stuck_latched = false;
  bool stirrer_stuck_latched = false;
  bool pump_found_latched = false;
  bool stirrer_found_latched = false;
  bool switched_off_latched = false;
  bool record_latched = false;               ///< what else was latched is not known
  std::vector<std::string> unknown_latches;  ///< codes that no rule of ours has
  std::optional<Instant> good_since;         ///< both probes good without a break since
  bool proven = false;
};

/// In times of the limit: probes that disagree so much hold without delay.
constexpr double kDisagreesAtOnce = 1.5;

}  // namespace limegate::rules
