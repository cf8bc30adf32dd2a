#pragma once

#include <cstdint>
#include <optional>
#include <string>

#include "dosing/account.h"
#include "dosing/plan.h"
#include "dosing/spread.h"
#include "dosing/volumes_in_force.h"
#include "rules/limits.h"
#include "station/anchor.h"
#include "station/effects.h"
#include "station/history.h"
#include "station/settings.h"
#include "station/window_plan.h"
#include "station/wishes.h"
#include "units/quantities.h"
#include "units/time.h"

namespace limegate::station {

/// What is given in the clear windows: the day's volume in force, each window's pulses, and the
/// slot of each. A slot is used once. It only asks; every limit is judged at each pulse. Threads:
/// one owner.   Errors: none.
class Schedule {
 public:
  /// What it follows from beside the file, as it is now.
  struct Present {
    Wishes::Volumes asked;
    Anchor::Halved halved;
    double share;                         ///< of the day's volume, while it is eased
    std::optional<PhChange> rise_per_ml;  ///< absent: no volume is sized by it
  };
  Schedule(const Settings& settings, const History& history, const Present& present, Moment now);

  /// Whether this window has just opened: its pulses are to be planned, once.
  [[nodiscard]] bool opens(const dosing::Window& window, Instant now) const {
    return now >= window.open && window.open != shaped_window_;
  }
  /// Plans them. `ph` = the day to level, if it is known; `asked` = when a volume was asked for
  /// last, on this boot's clock.
  void open(const dosing::Window& window, Moment now, const Present& present,
            const std::optional<dosing::DayOfPh>& ph, const std::optional<Instant>& asked);

  struct Due {
    dosing::Slot slot;
    Millilitres volume;
  };
  [[nodiscard]] std::optional<Due> due(const dosing::Window& window, Instant now,
                                       const std::optional<PhChange>& rise_per_ml) const;
  /// Its pulse was begun.
  void used(const dosing::Slot& slot, std::int64_t pulse);
  /// Nothing of this pulse was sent: its slot is due again.
  void not_sent(std::int64_t pulse);
  /// What a pulse of the plan came to.
  void given(Millilitres volume) { windows_.given(volume); }
  /// What windows missed is not made up.
  void drop_missed() { windows_.drop_missed(); }

  /// The keeper asks for another day's volume: what this window still had to give is dropped, so
  /// that no sequence of changes gives more than the volumes that were set.
  void change(const std::optional<dosing::Window>& window, const Present& present);
  /// Why that much a day is refused; empty: it is not.
  [[nodiscard]] std::string objection(Millilitres day_volume) const;

  /// Another volume is in force: kept, for the largest within 24 h binds.
  void note_in_force(dosing::Stamp now, const Present& present, Effects& effects);
  /// Of a volume that is asked for: halved at most once, whatever the reasons.
  [[nodiscard]] Millilitres in_force(Millilitres asked, const Present& present) const;
  /// The most that the plan's pulses may come to within 24 h.
  [[nodiscard]] Millilitres day_bound(dosing::Stamp now,
                                      const std::optional<PhChange>& rise_per_ml) const {
    return volumes_.largest(now) + largest_pulse(rise_per_ml);
  }
  [[nodiscard]] Millilitres largest_pulse(const std::optional<PhChange>& rise_per_ml) const;
  [[nodiscard]] Millilitres hour_limit(const std::optional<PhChange>& rise_per_ml) const;
  /// The settings of a plan for the volume that is given now.
  [[nodiscard]] dosing::PlanSettings present_plan(const Present& present) const;

  /// Keeps what there is, again.
  void store(Effects& effects) const;
  /// The newest window's.
  [[nodiscard]] const dosing::PlanShape& shape() const { return shape_; }

 private:
  dosing::PlanSettings plan_;
  rules::Limits limits_;
  std::optional<Millilitres> begins_with_;
  dosing::VolumesInForce volumes_;
  dosing::PlanShape shape_;
  WindowPlan windows_;
  std::optional<dosing::Slot> last_slot_;
  std::int64_t slot_pulse_ = 0;                            ///< that took it
  std::optional<Instant> reserved_before_;                 ///< at the start
  std::optional<Instant> shaped_window_, dropped_window_;  ///< `shape_` is for; gives no more
};

}  // namespace limegate::station
