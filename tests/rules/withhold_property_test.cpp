// Promise 1: rules only withhold. With random snapshots and memories, tightening a limit or adding
// an unfavourable fact never opens what was held, and never keeps a pulse running that would end.

#include <functional>
#include <vector>

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include "rules/row.h"
#include "rules/tightenings.h"

namespace limegate::rules {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using signal::Quality;
using signal::Reason;

/// Most facts are favourable, so that a good share of the scenes is open; values crowd round the
/// limits.
bool one_in(int n) { return *rc::gen::resize(rc::kNominalSize, rc::gen::inRange(0, n)) == 0; }

signal::Reading any_reading(double usual, const std::vector<double>& values) {
  signal::Reading reading;
  reading.value = one_in(2) ? usual : *rc::gen::elementOf(values);
  reading.newest = one_in(2) ? usual : *rc::gen::elementOf(values);
  reading.quality = Quality::good;
  reading.reason = Reason::none;
  reading.age = *rc::gen::element<Duration>(0s, 1s, 10s);
  if (one_in(12)) {
    reading.quality = *rc::gen::element(Quality::uncertain, Quality::bad);
    reading.reason =
        *rc::gen::element(Reason::none, Reason::missing, Reason::stale, Reason::not_a_number,
                          Reason::implausible, Reason::stuck, Reason::unsteady);
  }
  return reading;
}

Memory any_memory(Instant now) {
  Memory memory;
  memory.ceiling_tripped = one_in(6);
  memory.climb_tripped = one_in(6);
  memory.unusual_climb_tripped = one_in(6);
  memory.climb_goes_on_latched = one_in(20);
  memory.risen_tripped = one_in(10);
  if (one_in(3)) {
    memory.residual_unseen_since = now - *rc::gen::element<Duration>(-1h, 0s, 11h, 12h, 24h);
    memory.rise_unseen_since = memory.residual_unseen_since;
  }
  memory.disagreement_tripped = one_in(10);
  if (one_in(3)) {
    memory.disagree_since = now - *rc::gen::element<Duration>(-1h, 0s, 1799s, 1800s, 1h);
  }
  memory.effect_too_large_latched = one_in(20);
  memory.alkalinity_latched = one_in(20);
  if (one_in(3)) {
    memory.climb_at_rest = Memory::AtRest{now - *rc::gen::element<Duration>(-1h, 0s, 15min, 1h),
                                          PhChange{*rc::gen::element(-0.1, 0.0, 0.05)}};
  }
  memory.second_ceiling_latched = one_in(20);
  memory.pump_timer_latched = one_in(20);
  memory.pump_stuck_latched = one_in(20);
  memory.stirrer_stuck_latched = one_in(20);
  memory.switched_off_latched = one_in(20);
  memory.proven = !one_in(6);
  if (!one_in(3)) {
    memory.good_since = now - *rc::gen::element<Duration>(-1h, 0s, 299s, 300s, 1h);
  }
  return memory;
}

Scene any_scene() {
  Scene scene;
  scene.known.ph = any_reading(8.2, {8.0, 8.2, 8.3, 8.39, 8.4, 8.42, 8.45, 8.5, 8.6});
  scene.known.temperature = any_reading(25.0, {15.0, 22.0, 25.0, 30.0, 35.0});
  scene.known.rise = PhChange{*rc::gen::element(-0.01, 0.0, 0.05, 0.08, 0.1, 0.12)};
  if (one_in(2)) {
    scene.known.residual = Residual{PhChange{*rc::gen::element(-0.1, 0.0, 0.05, 0.1)},
                                    PhChange{*rc::gen::element(0.0, 0.05, 0.06, 0.088, 0.1)}};
  }
  if (one_in(3)) {
    scene.known.second_ph = any_reading(8.2, {8.05, 8.2, 8.3, 8.36, 8.39, 8.4, 8.45, 8.6});
  }
  if (one_in(2)) {
    scene.known.above_reference = PhChange{*rc::gen::element(-0.1, 0.1, 0.15, 0.18, 0.2, 0.3)};
  }
  if (one_in(2)) {
    scene.known.pump_flow = Snapshot::PumpFlow::none;
  }
  if (one_in(5)) {
    scene.known.disturbed_until = scene.now + *rc::gen::element<Duration>(-1s, 0s, 1s);
  }
  if (one_in(5)) {
    scene.known.paused_until = scene.now + *rc::gen::element<Duration>(-1s, 0s, 1s);
  }
  if (one_in(5)) {
    scene.known.disk_slow_until = scene.now + *rc::gen::element<Duration>(-1s, 0s, 1s);
  }
  scene.known.stirrer.rested_since = scene.now - *rc::gen::element<Duration>(3599s, 60min, 2h, 5h);
  if (one_in(2)) {
    const double share = *rc::gen::element(0.0, 1.0, 1.69, 1.7, 2.5);
    const double at_least = share - *rc::gen::element(0.1, 0.4, 1.0);
    const double of_chemistry = *rc::gen::element(0.5, 1.0, 1.79, 1.8, 2.5);
    scene.known.dose_effect = DoseEffect{share, at_least, of_chemistry};
  }
  if (one_in(2)) {
    scene.known.rise_per_ml = PhChange{*rc::gen::element(0.0005, 0.002, 0.0021, 0.004)};
  }
  scene.known.given_hour = Millilitres{*rc::gen::element(0.0, 20.0, 30.0, 30.1)};
  scene.known.given_day = Millilitres{*rc::gen::element(0.0, 300.0, 390.0)};
  scene.memory = any_memory(scene.now);
  return scene;
}

using Change = std::function<void(Scene&)>;

std::vector<Change> tightenings() {
  const double share = *rc::gen::element(0.001, 0.1, 0.5, 1.0);
  std::vector<Change> changes;
  for (const Tightening& tightening : kTightenings) {
    changes.emplace_back([=](Scene& s) { tightening.apply(s.limits, share); });
  }
  return changes;
}

/// Each adds one fact that speaks against dosing: of the water and its probes.
std::vector<Change> facts_of_probes() {
  const Duration longer = *rc::gen::element<Duration>(1ns, 1s, 1h);
  const double more = *rc::gen::element(0.001, 0.1, 10.0, 1e9);
  const Reason reason = *rc::gen::element(Reason::missing, Reason::no_communication, Reason::stale,
                                          Reason::not_a_number, Reason::implausible, Reason::stuck);
  const auto spoil = [reason](signal::Reading& reading) {
    reading.quality = Quality::bad;
    reading.reason = reason;
  };
  return {
      [=](Scene& s) { spoil(s.known.ph); },
      [=](Scene& s) { spoil(s.known.temperature); },
      [=](Scene& s) {
        s.known.second_ph = s.known.second_ph.value_or(s.known.ph);
        spoil(*s.known.second_ph);
      },
      [=](Scene& s) { s.known.ph.age += longer; },
      [=](Scene& s) { s.known.temperature.age += longer; },
      [=](Scene& s) {
        // Of both: one alone may come to agree with the other.
        s.known.ph.value += 0.001 + 0.01 * more;
        if (s.known.second_ph) {
          s.known.second_ph->value += 0.001 + 0.01 * more;
        }
      },
      [=](Scene& s) { s.known.rise = *s.known.rise + PhChange{more}; },
      [=](Scene& s) {
        // That none is known is no less unfavourable to what was tripped.
        if (s.known.residual) {
          s.known.residual->value += PhChange{more};
          s.known.residual->climb += PhChange{more};
        }
      },
      [=](Scene& s) {
        if (s.known.above_reference) {
          *s.known.above_reference += PhChange{more};
        }
      },
      [=](Scene& s) {
        const DoseEffect effect = s.known.dose_effect.value_or(DoseEffect{});
        s.known.dose_effect =
            DoseEffect{effect.share + more, effect.at_least + more, effect.of_chemistry + more};
      },
      [=](Scene& s) {
        s.known.rise_per_ml = s.known.rise_per_ml.value_or(PhChange{0.0}) + PhChange{more};
      },
  };
}

/// The same of everything else.
std::vector<Change> facts_of_the_station() {
  const Duration longer = *rc::gen::element<Duration>(1ns, 1s, 1h);
  const double more = *rc::gen::element(0.001, 0.1, 10.0, 1e9);
  return {
      [=](Scene& s) { s.known.disturbed_until = s.now + longer; },
      [=](Scene& s) { s.known.paused_until = s.now + longer; },
      [=](Scene& s) { s.known.disk_slow_until = s.now + longer; },
      [=](Scene& s) { s.known.ledger_fault = "disk full"; },
      [=](Scene& s) { s.known.stirrer.state = StirrerKnown::State::running; },
      [=](Scene& s) { s.known.stirrer.state = StirrerKnown::State::unknown; },
      [=](Scene& s) { s.known.stirrer.rested_since += longer; },
      [=](Scene& s) { s.known.pump_outlet = OutletKnown::unconfirmed; },
      [=](Scene& s) { s.known.pump_outlet = OutletKnown::stuck_on; },
      [=](Scene& s) { s.known.stirrer_outlet = OutletKnown::unconfirmed; },
      [=](Scene& s) { s.known.pump_timer = Snapshot::PumpTimer::failed; },
      [=](Scene& s) { s.known.given_hour += Millilitres{more}; },
      [=](Scene& s) { s.known.given_day += Millilitres{more}; },
      [=](Scene& s) { s.known.next_pulse += Millilitres{more}; },
      [=](Scene& s) { s.memory.ceiling_tripped = true; },
      [=](Scene& s) { s.memory.climb_tripped = true; },
      [=](Scene& s) { s.memory.climb_goes_on_latched = true; },
      [=](Scene& s) { s.memory.risen_tripped = true; },
      [=](Scene& s) { s.memory.effect_too_large_latched = true; },
      [=](Scene& s) { s.memory.second_ceiling_latched = true; },
      [=](Scene& s) { s.memory.proven = false; },
  };
}

void check_each_only_withholds(const std::vector<Change>& changes) {
  const Scene scene = any_scene();
  const Judgement before = scene.judged();
  RC_TAG(before.open() ? "open" : "held");
  for (std::size_t i = 0; i < changes.size(); ++i) {
    Scene tighter = scene;
    changes[i](tighter);
    const Judgement after = tighter.judged();
    RC_LOG() << "change " << i;
    RC_ASSERT(before.open() || !after.open());
    RC_ASSERT(!before.ends_pulse() || after.ends_pulse());
  }
}

RC_GTEST_PROP(Withhold, a_tighter_limit_permits_a_subset, ()) {
  check_each_only_withholds(tightenings());
}

RC_GTEST_PROP(Withhold, an_unfavourable_fact_permits_a_subset, ()) {
  check_each_only_withholds(facts_of_probes());
  check_each_only_withholds(facts_of_the_station());
}

RC_GTEST_PROP(Withhold, not_a_number_anywhere_never_opens, ()) {
  const std::vector<Change> spoilers{
      [](Scene& s) { s.known.ph.value = kNan; },
      [](Scene& s) { s.known.ph.newest = kNan; },
      [](Scene& s) {
        s.known.second_ph = s.known.ph;
        s.known.second_ph->value = kNan;
      },
      [](Scene& s) {
        s.known.second_ph = s.known.ph;
        s.known.second_ph->newest = kNan;
      },
      [](Scene& s) { s.known.temperature.value = kNan; },
      [](Scene& s) { s.known.temperature.newest = kNan; },
      [](Scene& s) { s.known.rise = PhChange{kNan}; },
      [](Scene& s) {
        s.known.residual = Residual{PhChange{kNan}, PhChange{kNan}};
      },
      [](Scene& s) {
        s.known.dose_effect = DoseEffect{kNan, kNan, kNan};
      },
      [](Scene& s) { s.known.above_reference = PhChange{kNan}; },
      [](Scene& s) { s.known.rise_per_ml = PhChange{kNan}; },
      [](Scene& s) { s.known.given_hour = Millilitres{kNan}; },
      [](Scene& s) { s.known.given_day = Millilitres{kNan}; },
      [](Scene& s) { s.known.next_pulse = Millilitres{kNan}; },
      [](Scene& s) { s.limits.ceiling = Ph{kNan}; },
      [](Scene& s) { s.limits.second_ceiling = Ph{kNan}; },
      [](Scene& s) { s.limits.climb = PhChange{kNan}; },
      [](Scene& s) { s.limits.ph_plausible_low = kNan; },
      [](Scene& s) { s.limits.ph_plausible_high = kNan; },
      [](Scene& s) { s.limits.temperature_plausible_low = kNan; },
      [](Scene& s) { s.limits.temperature_plausible_high = kNan; },
      [](Scene& s) { s.limits.hour = Millilitres{kNan}; },
      [](Scene& s) { s.limits.day = Millilitres{kNan}; },
  };
  Scene scene = any_scene();
  (*rc::gen::elementOf(spoilers))(scene);
  RC_ASSERT(!scene.judged().open());
}

RC_GTEST_PROP(Withhold, a_latch_is_never_taken_back, ()) {
  const Scene scene = any_scene();
  const Memory after = scene.judged().memory;
  RC_ASSERT(!scene.memory.second_ceiling_latched || after.second_ceiling_latched);
  RC_ASSERT(!scene.memory.climb_goes_on_latched || after.climb_goes_on_latched);
  RC_ASSERT(!scene.memory.effect_too_large_latched || after.effect_too_large_latched);
  RC_ASSERT(!scene.memory.alkalinity_latched || after.alkalinity_latched);
  RC_ASSERT(!scene.memory.pump_timer_latched || after.pump_timer_latched);
  RC_ASSERT(!scene.memory.pump_stuck_latched || after.pump_stuck_latched);
  RC_ASSERT(!scene.memory.stirrer_stuck_latched || after.stirrer_stuck_latched);
  RC_ASSERT(!scene.memory.switched_off_latched || after.switched_off_latched);
}

}  // namespace
}  // namespace limegate::rules
