#pragma once

#include <cstddef>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "rules/hold.h"
#include "signal/reading.h"
#include "station/effects.h"
#include "station/history.h"
#include "station/settings.h"
#include "station/standing.h"
#include "units/quantities.h"
#include "units/time.h"

namespace limegate::station {

/// Sees that silence is news: nothing dosed for long, less than half of the plan in a day, holds
/// that do not mend themselves, water that is too warm or too cold. It only tells.
/// Threads: one owner.   Errors: none.
class Vigil {
 public:
  /// `asked` = when another volume was asked for last, if one was.
  Vigil(const Settings& settings, const History& history, const std::optional<dosing::Stamp>& asked,
        Moment now);

  /// Limewater flows by the plan.
  void dosing(Instant now) { last_dosed_ = now; }
  [[nodiscard]] Duration silent(Instant now) const { return now - last_dosed_; }

  /// Once a second each.
  /// A day's volume of zero at the station is silent by wish, and silence counts from its end. A
  /// day is looked at 24 h after more was wished for. `why` is asked only when silence is told:
  /// what holds, in sentences.
  void note_silence(Moment now, Millilitres wished, const std::function<std::string()>& why,
                    Effects& effects);
  /// Whether a day is to be looked at now; then what it gave against what was planned.
  [[nodiscard]] bool day_is_over(Instant now) const;
  void note_day(Moment now, Millilitres planned, Millilitres given, Effects& effects);
  void note_long_holds(Moment now, const rules::Holds& holds, const std::vector<Standing>& standing,
                       Effects& effects);
  void note_temperature(Moment now, const signal::Reading& reading, Effects& effects);

 private:
  StirrerKind stirrer_;
  double usual_low_, usual_high_;           ///< °C
  Instant last_dosed_, shortfall_checked_;  ///< or the first start
  Instant silent_by_wish_to_;               ///< until then nothing was asked for, if ever
  std::optional<Millilitres> wished_;       ///< a second ago
  std::size_t silence_alerts_ = 0;
  std::vector<Standing> told_;  ///< long holds that stand
  bool temperature_told_ = false;
};

}  // namespace limegate::station
