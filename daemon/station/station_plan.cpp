// What a station gives in its clear windows: sizes and slots of pulses.

#include <algorithm>
#include <cstdlib>
#include <utility>

#include "station/station.h"

namespace limegate::station {

Millilitres Station::largest_pulse() const {
  return rules::volume_within(settings_.limits.pulse_rise, response_.tested_per_millilitre(),
                              settings_.plan.pulse_max);
}

Millilitres Station::planned_pulse(const dosing::Slot& slot) const {
  return dosing::in_whole_steps(
      std::min(dosing::volume_of(shape_, slot.index, settings_.plan), largest_pulse()),
      settings_.plan);
}

dosing::PlanSettings Station::present_plan() const {
  dosing::PlanSettings plan = settings_.plan;
  plan.pulse_max = largest_pulse();
  plan.day_volume = volume_in_force(plan.day_volume) * reference_.share();
  return plan;
}

/// Halved at most once, whatever the reasons: what a station begins with is half already. That the
/// volume is eased because pH rose is no halving, and comes on top.
Millilitres Station::volume_in_force(Millilitres wished) const {
  const Millilitres at_station = wishes_.day_volume_at_station();
  const bool begun_gently = settings_.begins_with && at_station == *settings_.begins_with;
  switch (anchor_.halved(effect_.if_learned())) {
    case Anchor::Halved::no:
      return wished;
    case Anchor::Halved::rate_unconfirmed:
      return std::min(wished, std::max(at_station, wishes_.in_file()) * Anchor::kHalf);
    case Anchor::Halved::rate_contradicted:
    case Anchor::Halved::beyond_chemistry:
      return std::min(wished, (begun_gently ? wishes_.in_file() : at_station) * Anchor::kHalf);
  }
  std::abort();
}

void Station::note_volume_in_force(Moment now, Effects& effects) {
  const Millilitres in_force = volume_in_force(settings_.plan.day_volume);
  if (volumes_.set(stamp(now), in_force)) {
    effects.emplace_back(StoreVolumeInForce{{stamp(now), in_force}});
  }
}

void Station::shape_for(const StirDuty::Window& window, Moment now) {
  // Once, as it opens: another number of pulses within a window would use a slot twice.
  if (now.mono < window.open || window.open == shaped_window_) {
    return;
  }
  shaped_window_ = window.open;
  WindowPlan::Present present{present_plan(), plan_bounds(settings_.limits), {}};
  present.bounds.hour = rules::volume_within(
      settings_.limits.hour_rise, response_.tested_per_millilitre(), settings_.limits.hour);
  if (const auto undosed = course_.undosed_day(now)) {
    const PhChange each = response_.per_millilitre() * effect_.expected();
    present.ph = {*undosed, each * present.plan.day_volume.count(), UsualCourse::kFades};
  }
  shape_ = window_plan_.open({window.open, now.wall + (window.open - now.mono), now.wall_trusted},
                             present);
  // A window that was begun before the start goes on where it was: a slot that was used stays used,
  // and one that another volume was wished in gives no more.
  const auto reserved = std::exchange(reserved_before_, std::nullopt);
  if (reserved && *reserved >= window.open && shape_.slot > Duration::zero()) {
    last_slot_ =
        dosing::Slot{window.open, static_cast<int>((*reserved - window.open) / shape_.slot)};
  }
  const auto& asked = wishes_.volume_asked();
  if (asked && Instant{asked->lifetime - lifetime_before_boot_} >= window.open) {
    dropped_window_ = window.open;
  }
}

void Station::begin_gently(Moment now, Effects& effects) {
  const Millilitres in_file = wishes_.day_volume();
  if (obey(now, SetDayVolume{*settings_.begins_with}, Origin::station, effects).verdict ==
      Answer::Verdict::accepted) {
    effects.emplace_back(
        Raise{{now.wall, Severity::warning, "volume-begins-at-half",
               "Hardly anything was dosed here yet, so the day's volume begins with " +
                   rules::volume_for_people(wishes_.day_volume()) +
                   ", half of the evaporation, and not with the file's " +
                   rules::volume_for_people(in_file) +
                   ". Test the water for a week or two, then say more: limegate volume."}});
  }
}

std::optional<dosing::Slot> Station::slot_due(const StirDuty::Window& window, Instant now) const {
  if (window.open == dropped_window_) {
    return std::nullopt;
  }
  const auto slot = dosing::due_slot(shape_, window.open, window.close, now);
  return slot == last_slot_ ? std::nullopt : slot;
}

}  // namespace limegate::station
