// What the pH and its changes, and what doses do to it, hold.

#include <algorithm>
#include <chrono>
#include <cmath>

#include <fmt/format.h>

#include "rules/families.h"
#include "rules/hold_row.h"

namespace limegate::rules {
namespace {

/// Clears below this part of the limit.
constexpr double kClimbClears = 2.0 / 3.0;
constexpr double kRiseClears = 0.75;

/// What was tripped stays while it can't be seen, but no longer than this: beside a course that was
/// lost it would stand for ever. From then on the plain limit of a climb judges, as it does at
/// every station that has learned no course. Source: our own reasoning.
constexpr Duration kUnseenMax = std::chrono::hours{12};

struct ChangeLimit {
  PhChange trips, clears;
};

/// A value that was never read since the start is no number.
std::string now_or_unknown(const std::optional<Ph>& value) {
  return value ? fmt::format("{:.2f}", value->count()) : "not known now";
}
std::string over(const UnusualClimb& h) {
  return h.pace == signal::Pace::quick
             ? fmt::format("beyond {:.2f} an hour", h.allowance_per_h.count())
         : h.pace == signal::Pace::slow ? "within " + for_people(signal::JoinedClimb::kWindow)
                                        : "above the mean of two days";
}
std::string amount(const std::optional<PhChange>& change) {
  return change ? fmt::format("{:.2f}", change->count()) : "an unknown amount";
}

const char* ceiling_still_there(const SecondCeilingReached& /*hold*/, const Circumstances& now) {
  const signal::Reading ph = counting_ph(now.known);
  return ph.quality == signal::Quality::good && Ph{ph.value} < now.limits.ceiling_resume
             ? ""
             : "there is no good pH reading below the ceiling's resume value";
}
const char* climb_still_there(const ClimbGoesOn& /*hold*/, const Circumstances& now) {
  const bool good = counting_ph(now.known).quality == signal::Quality::good;
  return good && !now.memory.unusual_climb_tripped
             ? ""
             : "the pH is still climbing, or there is no good reading of it";
}

const char* alkalinity_still_there(const AlkalinityTooHigh& /*hold*/, const Circumstances& now) {
  const auto& test = now.known.alkalinity;
  return test && test->level < now.limits.alkalinity_max && test->age >= Duration::zero() &&
                 test->age <= now.limits.alkalinity_counts_for
             ? ""
             : "there is no newer test of alkalinity below the limit: limegate record";
}

void judge_change(PhChange change, const ChangeLimit& limit, bool may_clear, bool& unsure,
                  bool& tripped) {
  if (!std::isfinite(change.count()) || !(change < (unsure ? limit.clears : limit.trips))) {
    tripped = true;
  } else if (may_clear && change < limit.clears) {
    tripped = false;
  }
  unsure = unsure && !may_clear;
}

/// `unseen_since` = that of the change which is judged beside the course; it is brought up to date.
bool worn_off(Instant now, const Snapshot& known, const Memory& memory, bool seen,
              std::optional<Instant>& unseen_since) {
  if (seen) {
    unseen_since.reset();
    return false;
  }
  if (!unseen_since || *unseen_since > now) {
    unseen_since = now;
  }
  return now - *unseen_since >= kUnseenMax && known.rise && !memory.climb_tripped &&
         calm(now, known);
}

void judge_ph(Instant now, const Snapshot& known, const Limits& limits, Judgement& out) {
  const signal::Reading& ph = known.ph;
  const bool plausible_raw = ph.newest >= limits.ph_plausible_low &&
                             ph.newest <= limits.ph_plausible_high &&
                             ph.reason != signal::Reason::missing;
  // The raw value trips, and the filtered one clears.
  const bool good = ph.quality == signal::Quality::good;
  const Ph trips = out.memory.unsure.ceiling ? limits.ceiling_resume : limits.ceiling;
  if ((plausible_raw && !(Ph{ph.newest} < limits.ceiling)) || (good && !(Ph{ph.value} < trips))) {
    out.memory.ceiling_tripped = true;
  } else if (calm(now, known) && Ph{ph.value} < limits.ceiling_resume) {
    out.memory.ceiling_tripped = false;
  }
  out.memory.unsure.ceiling = out.memory.unsure.ceiling && !calm(now, known);
  const auto shown =
      plausible_raw ? std::optional{Ph{std::max(ph.newest, ph.value)}} : std::nullopt;
  if (out.memory.ceiling_tripped) {
    out.holds.emplace_back(CeilingReached{shown, limits.ceiling, limits.ceiling_resume});
  }
  // The latch wants the filtered value: a person must come for it, so one noisy sample won't do.
  if (ph.quality != signal::Quality::bad && !(Ph{ph.value} < limits.second_ceiling)) {
    out.memory.second_ceiling_latched = true;
  }
  if (out.memory.second_ceiling_latched) {
    out.holds.emplace_back(SecondCeilingReached{shown, limits.second_ceiling});
  }
  if (known.rise) {
    judge_change(*known.rise, {limits.climb, limits.climb * kClimbClears}, calm(now, known),
                 out.memory.unsure.climb, out.memory.climb_tripped);
  } else if (ph.quality != signal::Quality::bad) {
    // A bad probe has holds of its own.
    out.holds.emplace_back(ClimbUnknown{known.rise_unknown_for, limits.climb_window});
  }
  if (out.memory.climb_tripped) {
    out.holds.emplace_back(Climbing{known.rise, limits.climb, limits.climb_window});
  }
}

/// Beside the usual course of the day: an unusual climb holds and clears by itself. One that goes
/// on while the pump rests is none of ours, and waits for a person. While it can't be seen, what
/// was tripped stays, for half a day.
void judge_residual(Instant now, const Snapshot& known, const Limits& limits, Judgement& out) {
  Memory& memory = out.memory;
  if (known.residual) {
    judge_change(known.residual->climb, {limits.unusual_climb, limits.unusual_climb * kClimbClears},
                 calm(now, known), memory.unsure.unusual_climb, memory.unusual_climb_tripped);
  }
  if (worn_off(now, known, memory, known.residual.has_value(), memory.residual_unseen_since)) {
    memory.unusual_climb_tripped = false;
  }
  if (!memory.unusual_climb_tripped || known.pump_flow == Snapshot::PumpFlow::possible ||
      (memory.climb_at_rest && memory.climb_at_rest->since > now)) {
    memory.climb_at_rest.reset();
  } else if (known.residual && !memory.climb_at_rest) {
    memory.climb_at_rest = {now, known.residual->value};
  } else if (known.residual) {
    Memory::AtRest& rest = *memory.climb_at_rest;
    rest.lowest = std::min(rest.lowest, known.residual->value);
    if (now - rest.since >= limits.climb_goes_on_for &&
        !(known.residual->value - rest.lowest < limits.climb_goes_on)) {
      memory.climb_goes_on_latched = true;
    }
  }
  if (memory.unusual_climb_tripped) {
    out.holds.emplace_back(UnusualClimb{
        known.residual ? std::optional{known.residual->climb} : std::nullopt, limits.unusual_climb,
        limits.climb_allowance_per_h, known.residual ? known.residual->pace : signal::Pace::slow});
  }
  if (memory.climb_goes_on_latched) {
    out.holds.emplace_back(ClimbGoesOn{limits.climb_goes_on, limits.climb_goes_on_for});
  }
}

void judge_rise(Instant now, const Snapshot& known, const Limits& limits, Judgement& out) {
  const auto& rise = known.above_reference;
  const PhChange resume = limits.rise * kRiseClears;
  if (rise) {
    judge_change(*rise, {limits.rise, resume}, calm(now, known), out.memory.unsure.risen,
                 out.memory.risen_tripped);
  }
  if (worn_off(now, known, out.memory, rise.has_value(), out.memory.rise_unseen_since)) {
    out.memory.risen_tripped = false;
  }
  if (out.memory.risen_tripped) {
    out.holds.emplace_back(Risen{rise, limits.rise, resume});
  }
}

void judge_effect(const Snapshot& known, const Limits& limits, Judgement& out) {
  const auto& effect = known.dose_effect;
  Memory& memory = out.memory;
  if (!memory.effect_too_large_latched && effect && !(effect->share < limits.effect_too_large) &&
      !(effect->at_least < limits.effect_surely_large) &&
      !(effect->of_chemistry < limits.effect_above_chemistry)) {
    memory.effect_too_large_latched = true;
    memory.effect_seen = effect->share;
  }
  if (memory.effect_too_large_latched) {
    out.holds.emplace_back(EffectTooLarge{memory.effect_seen, limits.effect_too_large});
  }
}

/// Limewater can only raise it. The latch outlives the book in which the test stands.
void judge_alkalinity(const Snapshot& known, const Limits& limits, Judgement& out) {
  const auto& test = known.alkalinity;
  if (test && !(test->level <= limits.alkalinity_max)) {
    out.memory.alkalinity_latched = true;
  }
  if (out.memory.alkalinity_latched) {
    out.holds.emplace_back(
        AlkalinityTooHigh{test ? std::optional{test->level} : std::nullopt, limits.alkalinity_max});
  }
}

}  // namespace

constinit const Rows<WaterHold> kWaterRows{
    HoldRow<CeilingReached>{
        "ph-ceiling", Clears::by_itself, Reach::ends_pulse, Person::not_needed, Teaches::no,
        Flow::as_commanded, &Memory::ceiling_tripped, kNoCondition, "limits.ph_ceiling",
        [](const CeilingReached& h) {
          return fmt::format(
              "The pH reached the ceiling of {:.2f} and is {}; dosing resumes below {:.2f}.",
              h.limit.count(), now_or_unknown(h.value), h.resume.count());
        }},

    HoldRow<SecondCeilingReached>{
        "ph-second-ceiling", Clears::by_person, Reach::ends_pulse, Person::not_needed, Teaches::no,
        Flow::perhaps_uncommanded, &Memory::second_ceiling_latched, ceiling_still_there,
        "limits.ph_second_ceiling",
        [](const SecondCeilingReached& h) {
          return fmt::format(
              "The pH reached the second ceiling of {:.2f} and is {}. Find the cause; "
              "a person at the station must release this hold.",
              h.limit.count(), now_or_unknown(h.value));
        }},

    HoldRow<Climbing>{
        "ph-climbing", Clears::by_itself, Reach::ends_pulse, Person::not_needed, Teaches::no,
        Flow::as_commanded, &Memory::climb_tripped, kNoCondition, "limits.ph_climb",
        [](const Climbing& h) {
          return fmt::format(
              "The pH climbed too quickly: now by {} within {}; less than {:.2f} is allowed, and "
              "dosing resumes below two thirds of that.",
              amount(h.rise), for_people(h.window), h.limit.count());
        }},

    HoldRow<ClimbUnknown>{
        "ph-climb-unknown", Clears::by_itself, Reach::ends_pulse, Person::not_needed, Teaches::yes,
        Flow::as_commanded, kNotRemembered, kNoCondition, "limits.ph_climb_window_min",
        [](const ClimbUnknown& h) {
          return fmt::format(
              "How far the pH climbed within {} is not known: nobody watched it. It will be in "
              "{}.",
              for_people(h.window), for_people(h.remaining));
        }},

    HoldRow<UnusualClimb>{
        "ph-unusual-climb", Clears::by_itself, Reach::ends_pulse, Person::not_needed, Teaches::no,
        Flow::as_commanded, &Memory::unusual_climb_tripped, kNoCondition, "limits.ph_unusual_climb",
        [](const UnusualClimb& h) {
          const double share = signal::JoinedClimb::share(h.pace);
          return fmt::format(
              "The pH climbed above its usual course: now by {} {}; less than {:.3f} is allowed, "
              "and dosing resumes below two thirds of that.",
              amount(h.rise ? std::optional{*h.rise * share} : std::nullopt), over(h),
              h.limit.count() * share);
        }},

    HoldRow<ClimbGoesOn>{
        "ph-climb-goes-on", Clears::by_person, Reach::ends_pulse, Person::not_needed, Teaches::no,
        Flow::perhaps_uncommanded, &Memory::climb_goes_on_latched, climb_still_there, kNoKey,
        [](const ClimbGoesOn& h) {
          return fmt::format(
              "The pH went on climbing by {:.2f} or more for {} although the pump rested. Look "
              "for a pump that does not stop, a siphon, or something else that was added; a "
              "person at the station must release this hold.",
              h.limit.count(), for_people(h.lasting));
        }},

    HoldRow<Risen>{
        "ph-risen", Clears::by_itself, Reach::ends_pulse, Person::not_needed, Teaches::yes,
        Flow::as_commanded, &Memory::risen_tripped, kNoCondition, "limits.ph_rise",
        [](const Risen& h) {
          return fmt::format(
              "The pH is {} above its reference of undosed days at this hour; less than {:.2f} "
              "is allowed, and dosing resumes below {:.2f}.",
              amount(h.rise), h.limit.count(), h.resume.count());
        }},

    HoldRow<EffectTooLarge>{
        "effect-too-large", Clears::by_person, Reach::ends_pulse, Person::not_needed, Teaches::yes,
        Flow::as_commanded, &Memory::effect_too_large_latched, kNoCondition, kNoKey,
        [](const EffectTooLarge& h) {
          return fmt::format(
              "The doses of a day raised the pH by {} what they usually do; from {:.1f} times on "
              "it may be milk, or no limewater. Look at the reactor's outlet and at what is in "
              "it; a person at the station must release this hold.",
              h.share ? fmt::format("{:.1f} times", *h.share) : "far more than", h.limit);
        }},

    HoldRow<AlkalinityTooHigh>{
        "alkalinity-too-high", Clears::by_person, Reach::ends_pulse, Person::not_needed,
        Teaches::yes, Flow::as_commanded, &Memory::alkalinity_latched, alkalinity_still_there,
        "limits.alkalinity_max_dkh", [](const AlkalinityTooHigh& h) {
          return fmt::format(
              "Alkalinity was tested above {:.1f} dKH{}. Limewater would raise it further: dosing "
              "goes on once a newer test is below that, limegate record.",
              h.limit.count(),
              h.tested ? fmt::format("; the newest test says {:.1f}", h.tested->count()) : "");
        }}};

void judge_water(Instant now, const Snapshot& counting, const Limits& limits, Judgement& out) {
  judge_ph(now, counting, limits, out);
  judge_residual(now, counting, limits, out);
  judge_rise(now, counting, limits, out);
  judge_effect(counting, limits, out);
  judge_alkalinity(counting, limits, out);
}

bool raw_ph_closes(double raw, const Limits& limits) {
  return raw >= limits.ph_plausible_low && raw <= limits.ph_plausible_high &&
         !(Ph{raw} < limits.ceiling);
}

}  // namespace limegate::rules
