#pragma once

#include <optional>
#include <string>

#include "signal/dose_response.h"
#include "station/effects.h"
#include "units/quantities.h"
#include "units/time.h"

namespace limegate::station {

/// Holds what doses do against chemistry, so that neither a pump rate that nobody measured nor an
/// effect that was wrong from the first day passes for usual. Half of the planned volume is the
/// most until the rate was confirmed, and while doses do more than any sound station's; it never
/// stops dosing.
class Anchor {
 public:
  /// Of the planned volume, while it is halved.
  static constexpr double kHalf = 0.5;

  struct Rate {
    MillilitresPerMinute highest;  ///< as in the file
    bool dated = false;            ///< the file says when it was measured
  };
  Anchor(const LearnedAnchor& stored, Rate rate);

  /// Each day's effect by chemistry, and what was learned of it; `usual` is absent until then. What
  /// is far too much, and a slow decline, are told; and when they are over.
  void take(Moment now, const signal::DoseResponse::Share& today, std::optional<double> usual,
            Effects& effects);
  /// Each second: that the volume is halved since before the start is told.
  void step(Moment now, Effects& effects);
  /// A timed run gave this rate, by a person's measure. Empty, or why it confirms nothing; more
  /// than the file's halves the volume whatever was known.
  [[nodiscard]] std::string confirm(MillilitresPerMinute measured, Effects& effects);
  /// The keeper's book tells of this rate. It may lower what is given, and confirms nothing: empty,
  /// or why the volume is halved.
  [[nodiscard]] std::string told(MillilitresPerMinute measured, Effects& effects);
  /// Whether what was learned of doses was learned under the file's rate.
  [[nodiscard]] bool learned_under_this_rate() const {
    return !learned_.rate || same(learned_.rate);
  }
  /// What doses do from now on is what a decline is seen against.
  void begin_anew(Effects& effects);
  /// Keeps what there is, again.
  void store(Effects& effects) const;

  enum class Halved { no, rate_unconfirmed, rate_contradicted, beyond_chemistry };
  /// `usual` = the learned effect, which confirms the rate too where it is a sound station's.
  [[nodiscard]] Halved halved(std::optional<double> usual) const;

 private:
  [[nodiscard]] bool same(const std::optional<MillilitresPerMinute>& rate) const;

  LearnedAnchor learned_;
  Rate rate_;
  bool decline_told_ = false, beyond_told_ = false;
};

/// Why the volume is halved and what to do, in a sentence; empty while it is not.
[[nodiscard]] std::string sentence_of(Anchor::Halved halved);

}  // namespace limegate::station
