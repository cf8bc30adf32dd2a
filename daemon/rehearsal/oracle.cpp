#include "rehearsal/oracle.h"

#include <algorithm>
#include <chrono>
#include <cmath>

#include <fmt/format.h>

namespace limegate::rehearsal {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

// The slacks stand in words in the table of promises.
constexpr Duration kFilterMax = 60s;
constexpr Duration kClosesWithin = 3s;
constexpr Duration kStirSlack = 2s;
constexpr Duration kCalmSlack = 3s;
constexpr Duration kRelaySlack = 2s;
constexpr Duration kUnheardMax = 40s;
constexpr Duration kProofSlack = 2s;
constexpr Duration kSlowFor = 5min;
/// The ledger gets a row with each stir, if not oftener.
constexpr Duration kRowsAtLeastEvery = 2h;
constexpr Duration kDosesAgainWithin = 26h;
constexpr Millilitres kRounding{0.01};
constexpr double kApartSlack = 0.02;
constexpr double kFarApart =
    1.5;  ///< times the limit: no time is given. Not the program's constant

/// Of two probes the one that shows more; what is no number shows nothing.
std::optional<double> higher(const std::optional<double>& one, const std::optional<double>& other) {
  const auto number = [](const std::optional<double>& value) {
    return value && std::isfinite(*value) ? value : std::nullopt;
  };
  return std::max(number(one), number(other));
}

Millilitres step_volume(const station::Settings& settings) {
  return Millilitres{settings.plan.pump_rate.count() * in_minutes(settings.plan.timer_step)};
}

/// What a window may give at most where none makes up for another; zero: that can't be said so
/// simply.
Millilitres window_share(const dosing::PlanSettings& plan) {
  const double windows = std::chrono::duration<double>(24h) / plan.stir.every;
  const bool plain =
      plan.spread == dosing::Spread::even && plan.missed == dosing::PlanSettings::Missed::dropped;
  return plain ? Millilitres{plan.day_volume.count() / windows} : Millilitres{};
}

ProbeJudge::Limits ph_limits(const rules::Limits& limits, const signal::Conditioning& probe,
                             const char* name) {
  return {name,
          limits.ph_plausible_low,
          limits.ph_plausible_high,
          limits.reading_age_max,
          limits.reading_age_flowing,
          probe.stuck_after,
          probe.jump,
          probe.jump_window,
          probe.steady_for};
}

VolumeJudge::Limits volume_limits(const station::Settings& settings) {
  const rules::Limits& limits = settings.limits;
  VolumeJudge::Limits volumes{limits.hour,
                              limits.day,
                              limits.pulse_rise,
                              limits.hour_rise,
                              {},
                              step_volume(settings),
                              settings.plan.stir.every,
                              window_share(settings.plan),
                              settings.plan.pulse_max,
                              settings.plan.day_volume,
                              settings.pump_rate_dated};
  if (settings.water.alkalinity) {
    volumes.water = {settings.water.volume, *settings.water.alkalinity, settings.water.salinity};
  }
  return volumes;
}

}  // namespace

Oracle::Oracle(const station::Settings& settings)
    : limits_(settings.limits),
      rate_(settings.plan.pump_rate),
      pulse_max_(settings.plan.pulse_duration_max),
      timer_step_(settings.plan.timer_step),
      stir_every_(settings.plan.stir.every),
      day_volume_(settings.plan.day_volume),
      ph_(ph_limits(limits_, settings.ph, "pH")),
      second_ph_(settings.second_ph ? std::optional{ProbeJudge{
                                          ph_limits(limits_, *settings.second_ph, "second pH")}}
                                    : std::nullopt),
      temperature_({"temperature", limits_.temperature_plausible_low,
                    limits_.temperature_plausible_high, limits_.reading_age_max, std::nullopt,
                    settings.temperature.stuck_after, settings.temperature.jump,
                    settings.temperature.jump_window, settings.temperature.steady_for}),
      climb_({limits_.climb.count(), limits_.climb_window, limits_.undisturbed}),
      volumes_(volume_limits(settings)),
      water_({limits_.unusual_climb, limits_.rise, settings.water.volume, day_volume_}),
      people_({settings.owner, step_volume(settings), day_volume_, settings.limits.settle}),
      news_(settings) {}

void Oracle::listen(const World& world) {
  const Duration now = verdicts_.now();
  ph_.shown(now, world.ph);
  temperature_.shown(now, world.temperature);
  if (second_ph_) {
    second_ph_->shown(now, world.second_ph);
  }
  people_.second({now, world.writes, world.waits_for_person});
  // Beside a second probe either of them may have proved itself.
  const auto& ph =
      second_ph_ && (!ph_.good_since() ||
                     (second_ph_->good_since() && *second_ph_->good_since() < *ph_.good_since()))
          ? second_ph_->good_since()
          : ph_.good_since();
  proven_ =
      proven_ || (ph && temperature_.good_since() &&
                  now - std::max(*ph, *temperature_.good_since()) >= limits_.proven - kProofSlack);
  judge_ph();
  compare_probes();
}

/// Steady both of them, and all the time on the same side of each other.
void Oracle::compare_probes() {
  if (!second_ph_ || !world_.ph || !world_.second_ph) {
    return;
  }
  const bool steady = ph_.good_since() && second_ph_->good_since();
  const double apart = *world_.ph - *world_.second_ph;
  const auto note = [&](std::optional<Duration>& since, double limit) {
    const bool same_side = std::signbit(apart) == std::signbit(apart_);
    if (!steady || !(std::abs(apart) > limit + kApartSlack)) {
      since.reset();
    } else {
      since = same_side ? since.value_or(verdicts_.now()) : verdicts_.now();
      since = std::max({*since, *ph_.good_since(), *second_ph_->good_since()});
    }
  };
  note(apart_since_, limits_.ph_disagreement.count());
  note(far_apart_since_, limits_.ph_disagreement.count() * kFarApart);
  apart_ = apart;
}

/// What stands above a limit, and since when. Of two probes the higher one counts.
void Oracle::judge_ph() {
  const auto ph = higher(world_.ph, world_.second_ph);
  const auto note = [&](std::optional<Duration>& since, Ph limit) {
    if (!ph) {
      return;
    }
    if (*ph < limit.count()) {
      since.reset();
    } else if (!since) {
      since = verdicts_.now();
    }
  };
  note(above_since_, limits_.ceiling);
  note(second_above_since_, limits_.second_ceiling);
  if (second_above_since_ && verdicts_.now() - *second_above_since_ > kFilterMax && ph &&
      *ph <= limits_.ph_plausible_high) {
    second_ceiling_since_ = verdicts_.now();
  }
}

void Oracle::judge_flow(const World& world) {
  const Duration now = verdicts_.now();
  flowed_at_ = now;
  flowed_[newest_id_] += flows_;
  if (!world.program_runs || !world.board_obeys || now - up_since_ <= kClosesWithin) {
    return;
  }
  if (above_since_ && now - *above_since_ > kClosesWithin) {
    verdicts_.broken(Promise::ends_at_ceiling, fmt::format("pH {:.2f}", world.ph.value_or(0)));
  }
  ph_.judge_flow(commanded_at_, verdicts_);
  if (second_ph_) {
    second_ph_->judge_flow(commanded_at_, verdicts_);
  }
  people_.judge_flow(verdicts_);
}

void Oracle::second(const World& world) {
  const Duration now = verdicts_.now();
  world_ = world;
  if (world.stirs) {
    stirred_at_ = world.stirrer_told ? std::optional{now} : std::nullopt;
  }
  if (world.stirrer_relay_on) {
    volumes_.window_begins(now);
  }
  const auto since = [&](std::optional<Duration>& begun, bool is) {
    begun = is ? std::optional{begun.value_or(now)} : std::nullopt;
  };
  since(relay_on_since_, world.pump_relay_on);
  since(slow_since_, world.write_takes > kSlowWrite);
  since(deaf_since_, !world.stirrer_told);
  since(unheard_since_, world.board == NewsJudge::Second::Board::silent);
  const auto ph = higher(world.ph, world.second_ph);
  const bool plausible = ph && *ph >= limits_.ph_plausible_low && *ph <= limits_.ph_plausible_high;
  climb_.second(now, {plausible ? ph : std::nullopt, world.pump_relay_on || world.stirs});
  water_.second(now, {world.ph, std::max(world.flowed - flows_, Millilitres{}), world.sees_well,
                      world.rate_factor, world.otherwise_well});
  if (world.program_runs) {
    listen(world);
  }
  const Duration left = std::clamp(commanded_until_ - now, Duration::zero(), Duration{1s});
  flows_ = Millilitres{world.pump_relay_on
                           ? rate_.count() / 60.0 * std::chrono::duration<double>(left).count()
                           : 0.0};
  if (flows_ > Millilitres{}) {
    judge_flow(world);
  }
  if (!world.pump_relay_on && now < commanded_until_) {
    volumes_.ended_at(flowed_[newest_id_]);
    commanded_until_ = now;
  }
  longest_pause_ = std::max(longest_pause_, now - commanded_at_);
  news_.second({world.program_runs, world.ph, world.second_ph, world.temperature,
                world.waits_for_person, world.board, world.pump_relay_on, world.stirrer_told},
               verdicts_);
  if (now % 1min == Duration::zero()) {
    news_.minute(volumes_.within(24h, now), people_.least_wished(now), verdicts_);
    if (world.program_runs) {
      people_.judge_calls(news_, verdicts_);
    }
  }
}

void Oracle::stirrer_commanded() {
  people_.judge_stir(verdicts_);
  volumes_.window_begins(verdicts_.now());  // a stir that is ended at once is one
}

void Oracle::alkalinity_tested(Dkh level, bool kept) {
  people_.alkalinity_tested(verdicts_.now(),
                            level > limits_.alkalinity_max ? PeopleJudge::Tested::too_high
                                                           : PeopleJudge::Tested::bearable,
                            kept);
  volumes_.tested(level);
}

void Oracle::released(std::string_view code) {
  if (code == "ph-second-ceiling") {
    second_ceiling_since_.reset();
  }
  people_.released(code);
}

void Oracle::restarted(bool unwatched, bool slots_known) {
  const Duration now = verdicts_.now();
  up_since_ = now;
  proven_ = false;
  ph_.restarted(now);
  temperature_.restarted(now);
  if (second_ph_) {
    second_ph_->restarted(now);
  }
  if (unwatched) {
    climb_.nobody_watched(now);
  }
  water_.restarted(now);
  if (!slots_known) {
    volumes_.window_begins(now);
  }
  people_.restarted();
  news_.restarted(now);
}

void Oracle::rebooted() {
  people_.rebooted(verdicts_.now(), kRowsAtLeastEvery);
  news_.rebooted(kRowsAtLeastEvery);
}

void Oracle::pump_commanded(std::int64_t id, Duration duration, std::optional<Millilitres> counted,
                            const WaterJudge::Learned& learned) {
  const Duration now = verdicts_.now();
  const auto broken_if = [&](bool is, Promise promise) {
    if (is) {
      verdicts_.broken(promise);
    }
  };
  const double minutes = std::chrono::duration<double, std::ratio<60>>(duration).count();
  const Millilitres volume{rate_.count() * minutes};
  broken_if(id <= newest_id_, Promise::sent_once);
  broken_if(!counted || *counted < volume - kRounding, Promise::counted_when_sent);
  broken_if(duration > pulse_max_, Promise::pulse_short);
  broken_if(timer_step_ > Duration::zero() && duration % timer_step_ != 0s, Promise::whole_steps);
  // The program may stir or stop stirring within the second of the command.
  broken_if(stirred_at_ && now - *stirred_at_ < limits_.settle - kStirSlack, Promise::settled);
  broken_if(deaf_since_ && now - *deaf_since_ > 2 * stir_every_ + kRhythmSlack,
            Promise::stirrer_heard);
  broken_if(flowed_at_ && now - *flowed_at_ < limits_.undisturbed - kCalmSlack, Promise::calm);
  broken_if(relay_on_since_ && now - *relay_on_since_ > kRelaySlack, Promise::outlet_off_first);
  broken_if(unheard_since_ && now - *unheard_since_ > kUnheardMax, Promise::outlet_off_first);
  broken_if(slow_since_ && now - *slow_since_ > kSlowFor, Promise::quick_disk);
  broken_if(!proven_, Promise::proven);
  broken_if((apart_since_ && now - *apart_since_ > limits_.ph_disagreement_for + kFilterMax) ||
                (far_apart_since_ && now - *far_apart_since_ > kFilterMax),
            Promise::agreeing);
  broken_if(above_since_ && now - *above_since_ > kFilterMax, Promise::below_ceiling);
  broken_if(second_ceiling_since_.has_value(), Promise::second_ceiling);
  ph_.judge_pulse(verdicts_);
  temperature_.judge_pulse(verdicts_);
  if (second_ph_) {
    second_ph_->judge_pulse(verdicts_);
  }
  climb_.judge_pulse(verdicts_);
  const bool attended = people_.judge_pulse(volume, duration, verdicts_);
  volumes_.pulse({volume, attended, climb_.highest_lately(now), world_.temperature,
                  people_.most_wished(now), learned.effect},
                 verdicts_);
  water_.judge_pulse(volumes_.within(24h, now), learned, verdicts_);
  newest_id_ = id;
  commanded_until_ = now + duration;
  commanded_at_ = now;
  news_.pulse(now, duration, attended ? NewsJudge::By::person : NewsJudge::By::plan);
}

void Oracle::row_written(std::int64_t id, std::optional<Millilitres> counted) {
  const auto flowed = flowed_.find(id);
  if (flowed != flowed_.end() && (!counted || *counted < flowed->second - kRounding)) {
    verdicts_.broken(Promise::flow_counted);
  }
  while (!flowed_.empty() && flowed_.begin()->first < id) {
    flowed_.erase(flowed_.begin());
  }
}

void Oracle::must_dose_again(Duration healed_for) {
  if (day_volume_ > Millilitres{} && healed_for > kDosesAgainWithin &&
      verdicts_.now() - commanded_at_ > healed_for) {
    verdicts_.broken(Promise::goes_on);
  }
}

}  // namespace limegate::rehearsal
