#pragma once

#include <optional>
#include <vector>

#include "dosing/plan.h"
#include "rules/snapshot.h"
#include "signal/dose_response.h"
#include "station/effects.h"
#include "units/quantities.h"
#include "units/time.h"

namespace limegate::station {

/// Whether doses do what they used to: by how much pH rises for each, in step with the stirrer.
/// Without effect the powder is spent, the pump dry or a tube off; with far too much the limewater
/// is milk, or no limewater. What no sound station's doses do is never learned as usual.
class EffectCheck {
 public:
  static constexpr int kLearnedDays = 7;
  static constexpr int kMemoryDays = 14;

  struct Stored {
    LearnedEffect effect = {};
    std::vector<DoseCycle> cycles = {};  ///< oldest first
    Duration lifetime_before_boot{};     ///< of the cycles' clock
  };
  EffectCheck(const Stored& stored, const dosing::StirCycle& stir, Duration settle);

  /// Takes a good, undisturbed pH and what all doses so far should have added to it by chemistry.
  /// What was learned is to be stored; that doses are without effect is told, and when it is over.
  /// Answers the last day's effect by chemistry when a cycle of the stirrer completed it.
  std::optional<signal::DoseResponse::Share> take(Moment now, Ph value, PhChange expected,
                                                  const rules::StirrerKnown& stirrer,
                                                  Effects& effects);

  /// What doses usually do, as a share of what chemistry expects; one until it is learned.
  [[nodiscard]] double usual() const { return learned() ? effect_.share : 1.0; }
  /// What to expect of the doses now: the usual, or nothing while they are seen to do nothing.
  [[nodiscard]] double expected() const { return told_ ? 0.0 : usual(); }
  [[nodiscard]] bool learned() const { return effect_.days >= kLearnedDays; }
  /// The usual effect; absent until it is learned.
  [[nodiscard]] std::optional<double> if_learned() const {
    return learned() ? std::optional{effect_.share} : std::nullopt;
  }
  /// Of the last day, by chemistry. Absent where too little was dosed to see anything.
  [[nodiscard]] std::optional<signal::DoseResponse::Share> by_chemistry() const;
  [[nodiscard]] int days_to_go() const { return learned() ? 0 : kLearnedDays - effect_.days; }
  /// The last day's effect against the usual one. Absent until that is learned, and where too
  /// little was dosed to see anything.
  [[nodiscard]] std::optional<rules::DoseEffect> against_usual() const;
  /// A person has looked after it: what was seen no longer counts.
  void begin_anew(Effects& effects);

 private:
  using Share = signal::DoseResponse::Share;
  [[nodiscard]] bool teaches(const Share& today) const;
  /// Whether it was a day to learn from.
  bool learn(Moment now, const Share& today, Effects& effects);
  void tell(Moment now, const Share& today, Effects& effects);

  LearnedEffect effect_;
  Duration lifetime_before_boot_;
  Duration settle_;
  signal::DoseResponse response_;
  std::optional<Share> today_;  ///< as of the newest whole cycle
  std::optional<Instant> learned_at_;
  bool told_ = false;
};

}  // namespace limegate::station
