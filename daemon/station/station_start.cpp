// How a station begins: with what it knew, and what an earlier run saw of the pH.

#include <algorithm>
#include <chrono>
#include <utility>

#include "station/latched_memory.h"
#include "station/station.h"

namespace limegate::station {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

/// Until the probe answers (common practice): half a degree moves a dose's effect by a hundredth.
constexpr Celsius kOrdinaryTemperature{25.0};

constexpr Duration kDay = 24h;

dosing::Account account_of(const std::vector<dosing::Dose>& doses) {
  dosing::Account account;
  for (const dosing::Dose& dose : doses) {
    account.add(dose);
  }
  return account;
}

/// A day is looked at an hour after a start, or a shortfall would never be told where each day
/// brings one. Not before a whole day is known since the station was first dosed, or since another
/// volume was asked for.
Instant first_shortfall_check(const History& history, const std::optional<dosing::Stamp>& asked,
                              Moment now) {
  const auto on_this_boot = [&](Duration lifetime) {
    return Instant{lifetime - history.lifetime_before_boot};
  };
  Instant known = kDay + (history.newest_given ? on_this_boot(Duration::zero())
                                               : silent_since(history, now.mono));
  if (asked) {
    known = std::max(known, on_this_boot(asked->lifetime) + kDay);
  }
  return std::clamp(known, now.mono + 1h, now.mono + kDay);
}

std::optional<signal::WatchedClimb::Past> ph_of(const std::optional<SeenBefore>& seen) {
  return seen ? std::optional{seen->ph} : std::nullopt;
}

rules::Memory memory_of(const History& history) {
  rules::Memory memory;
  add_latches(history.latches, memory);
  memory.unsure = {true, true, true, history.reference.share < 1.0};
  return memory;
}

}  // namespace

Station::Station(Settings settings, const History& history, Moment now)
    : settings_(std::move(settings)),
      wishes_(settings_.plan.day_volume, history.wishes,
              {now.mono.time_since_epoch() + history.lifetime_before_boot, now.wall}, now.mono),
      volumes_(history.volumes),
      lifetime_before_boot_(history.lifetime_before_boot),
      account_(account_of(history.doses)),
      ph_(settings_.ph),
      second_ph_(settings_.second_ph ? std::optional{signal::Conditioner{*settings_.second_ph}}
                                     : std::nullopt),
      temperature_(settings_.temperature),
      climb_({settings_.limits.climb_window, settings_.limits.climb_silence},
             ph_of(believable(history.seen, now.mono, settings_.limits.climb_window))),
      course_(history.usual_course, settings_.limits.climb_allowance_per_h),
      response_(settings_.water),
      anchor_(history.anchor, {settings_.plan.pump_rate, settings_.pump_rate_dated}),
      effect_(anchor_.learned_under_this_rate()
                  ? EffectCheck::Stored{history.effect, history.dose_cycles,
                                        history.lifetime_before_boot}
                  : EffectCheck::Stored{{}, {}, history.lifetime_before_boot},
              settings_.plan.stir, settings_.limits.settle),
      reference_(history.reference, settings_.reference,
                 {now.mono.time_since_epoch() + history.lifetime_before_boot, now.wall}, now.mono),
      pump_({settings_.plan.pump_rate, settings_.pump_ends}, history, now),
      stir_(settings_.stirrer, settings_.plan.stir, history, now.mono),
      memory_(memory_of(history)),
      owner_(settings_.owner, history.latches, now.mono),
      reserved_before_(history.newest_reserved),
      limewater_since_(limewater_since(history, now.mono)),
      last_dosed_(silent_since(history, now.mono)),
      shortfall_checked_(first_shortfall_check(history, wishes_.volume_asked(), now) - kDay) {
  settings_.plan.day_volume = wishes_.day_volume();
  if (history.volumes.empty() && !is_new(history)) {
    // A record of before these were kept: what the file and the station say was in force.
    (void)volumes_.set(stamp(now), std::max(wishes_.day_volume_at_station(), wishes_.in_file()));
  }
  begins_gently_ = is_new(history) && settings_.begins_with &&
                   settings_.plan.day_volume > *settings_.begins_with;
  shape_ = dosing::shape_of(present_plan());
  take_up(history, now);
}

void Station::take_up(const History& history, Moment now) {
  const auto seen = believable(history.seen, now.mono, settings_.limits.climb_window);
  const Instant until = seen && seen->left ? seen->left->at : now.mono;
  const auto take_doses = [&](auto&& counts) {
    for (const dosing::Dose& dose : history.doses) {
      const Instant end =
          std::min(now.mono, Instant{dose.end.lifetime - history.lifetime_before_boot});
      // What stands for a lost record is no volume that ever flowed.
      if (dose.volume <= settings_.limits.day && counts(end)) {
        course_.dosed(end, dose.volume);
      }
    }
  };
  take_doses([&](Instant end) { return end <= until; });
  if (seen && seen->left) {
    response_.take(seen->left->value, kOrdinaryTemperature);
    course_.expect(until, response_.per_millilitre(), effect_.expected());
    course_.take_up(now, *seen->left);
  }
  take_doses([&](Instant end) { return end > until; });
  if (!seen) {
    return;
  }
  memory_.disagreement_tripped = seen->disagreed && second_ph_.has_value();
  if (course_.days_to_go() > 0) {
    return;  // without it neither of these is judged, and what was tripped would never clear
  }
  memory_.unusual_climb_tripped = seen->climb_at_rest.has_value();
  memory_.climb_at_rest = seen->climb_at_rest;
  if (reference_.ph()) {
    memory_.risen_tripped = seen->risen;
    memory_.unsure.risen = false;
  }
}

std::optional<SeenBefore> Station::seen() const {
  const auto newest = climb_.newest_undisturbed();
  return newest ? std::optional{SeenBefore{*newest, course_.newest_left(), memory_.climb_at_rest,
                                           memory_.risen_tripped, memory_.disagreement_tripped}}
                : std::nullopt;
}

}  // namespace limegate::station
