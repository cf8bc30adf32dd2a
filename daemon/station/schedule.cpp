#include "station/schedule.h"

#include <algorithm>
#include <cstdlib>
#include <utility>

#include "dosing/plan_fit.h"
#include "rules/judge.h"

namespace limegate::station {

Schedule::Schedule(const Settings& settings, const History& history, const Present& present,
                   Moment now)
    : plan_(settings.plan),
      limits_(settings.limits),
      begins_with_(settings.begins_with),
      volumes_(history.volumes),
      reserved_before_(history.newest_reserved) {
  plan_.day_volume = present.asked.now;
  if (history.volumes.empty() && !is_new(history)) {
    // A record of before these were kept: what the file and the station say was in force.
    (void)volumes_.set({now.mono.time_since_epoch() + history.lifetime_before_boot, now.wall},
                       std::max(present.asked.at_station, present.asked.in_file));
  }
  shape_ = dosing::shape_of(present_plan(present));
}

Millilitres Schedule::largest_pulse(const std::optional<PhChange>& rise_per_ml) const {
  return rules::volume_within(limits_.pulse_rise, rise_per_ml, plan_.pulse_max);
}

Millilitres Schedule::hour_limit(const std::optional<PhChange>& rise_per_ml) const {
  return rules::volume_within(limits_.hour_rise, rise_per_ml, limits_.hour);
}

dosing::PlanSettings Schedule::present_plan(const Present& present) const {
  dosing::PlanSettings plan = plan_;
  plan.pulse_max = largest_pulse(present.rise_per_ml);
  plan.day_volume = in_force(plan.day_volume, present) * present.share;
  return plan;
}

/// What a station begins with is half already. That the volume is eased because pH rose is no
/// halving, and comes on top.
Millilitres Schedule::in_force(Millilitres asked, const Present& present) const {
  const auto& [now, at_station, in_file] = present.asked;
  const bool begun_gently = begins_with_ && at_station == *begins_with_;
  switch (present.halved) {
    case Anchor::Halved::no:
      return asked;
    case Anchor::Halved::rate_unconfirmed:
      return std::min(asked, std::max(at_station, in_file) * Anchor::kHalf);
    case Anchor::Halved::rate_contradicted:
    case Anchor::Halved::beyond_chemistry:
      return std::min(asked, (begun_gently ? in_file : at_station) * Anchor::kHalf);
  }
  std::abort();
}

void Schedule::note_in_force(dosing::Stamp now, const Present& present, Effects& effects) {
  const Millilitres volume = in_force(plan_.day_volume, present);
  if (volumes_.set(now, volume)) {
    effects.emplace_back(StoreVolumeInForce{{now, volume}});
  }
}

void Schedule::open(const dosing::Window& window, Moment now, const Present& present,
                    const std::optional<dosing::DayOfPh>& ph, const std::optional<Instant>& asked) {
  // Once, as it opens: another number of pulses within a window would use a slot twice.
  shaped_window_ = window.open;
  WindowPlan::Present then{present_plan(present), plan_bounds(limits_), ph};
  then.bounds.hour = hour_limit(present.rise_per_ml);
  shape_ =
      windows_.open({window.open, now.wall + (window.open - now.mono), now.wall_trusted}, then);
  // A window that was begun before the start goes on where it was: a slot that was used stays used,
  // and one that another volume was wished in gives no more.
  const auto reserved = std::exchange(reserved_before_, std::nullopt);
  if (reserved && *reserved >= window.open && shape_.slot > Duration::zero()) {
    last_slot_ =
        dosing::Slot{window.open, static_cast<int>((*reserved - window.open) / shape_.slot)};
  }
  if (asked && *asked >= window.open) {
    dropped_window_ = window.open;
  }
}

std::optional<Schedule::Due> Schedule::due(const dosing::Window& window, Instant now,
                                           const std::optional<PhChange>& rise_per_ml) const {
  if (window.open == dropped_window_) {
    return std::nullopt;
  }
  const auto slot = dosing::due_slot(shape_, window.open, window.close, now);
  if (!slot || slot == last_slot_) {
    return std::nullopt;
  }
  const Millilitres planned = dosing::volume_of(shape_, slot->index, plan_);
  return Due{*slot, dosing::in_whole_steps(std::min(planned, largest_pulse(rise_per_ml)), plan_)};
}

void Schedule::used(const dosing::Slot& slot, std::int64_t pulse) {
  last_slot_ = slot;
  slot_pulse_ = pulse;
}

void Schedule::not_sent(std::int64_t pulse) {
  if (pulse == slot_pulse_) {
    last_slot_.reset();
  }
}

void Schedule::change(const std::optional<dosing::Window>& window, const Present& present) {
  if (window) {
    dropped_window_ = window->open;
  }
  plan_.day_volume = present.asked.now;
  shape_ = dosing::shape_of(present_plan(present));
  windows_.drop_missed();
}

std::string Schedule::objection(Millilitres day_volume) const {
  dosing::PlanSettings plan = plan_;
  plan.day_volume = day_volume;
  const auto objections = dosing::objections_to(plan, plan_bounds(limits_));
  return objections.empty() ? "" : objections.front();
}

void Schedule::store(Effects& effects) const {
  for (const dosing::VolumeInForce& volume : volumes_.known()) {
    effects.emplace_back(StoreVolumeInForce{volume});
  }
}

}  // namespace limegate::station
