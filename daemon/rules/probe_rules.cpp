// What the probes must show before anything is dosed.

#include <algorithm>
#include <cmath>
#include <cstdlib>

#include <fmt/format.h>

#include "rules/families.h"
#include "rules/hold_row.h"

namespace limegate::rules {
namespace {

constexpr double kDisagreementClears = 2.0 / 3.0;

const char* either(Role role, const char* ph, const char* second_ph, const char* temperature) {
  switch (role) {
    case Role::ph:
      return ph;
    case Role::second_ph:
      return second_ph;
    case Role::temperature:
      return temperature;
  }
  std::abort();
}
const char* probe(Role role) {
  return either(role, "the pH probe", "the second pH probe", "the temperature probe");
}
const char* first_probe(Role role) {
  return either(role, "The pH probe", "The second pH probe", "The temperature probe");
}

/// What registers hold that were put together wrongly, and no probe.
bool absurd(double value) {
  return value != 0.0 && !(std::abs(value) >= 1e-3 && std::abs(value) <= 1e5);
}

std::string number(Role role, double value) {
  if (absurd(value)) {
    return fmt::format("{}{:.2g}{}", role == Role::temperature ? "" : "pH ", value,
                       role == Role::temperature ? " °C" : "");
  }
  return role == Role::temperature ? temperature_for_people(value)
                                   : fmt::format("pH {:.2f}", value);
}

/// What the file may have wrong where no water is like that; empty where one could be.
std::string likely_cause(Role role, double value) {
  if (absurd(value)) {
    return " The word_order of its registers is likely another one, or their encoding.";
  }
  return std::abs(value) > (role == Role::temperature ? 100.0 : 20.0)
             ? " Its scale in the file is likely wrong."
             : "";
}

/// A reading that calls itself good is looked at all the same: the gate believes no label.
void judge_good_reading(Role role, const signal::Reading& reading,
                        const std::optional<Duration>& flowing_for, const Limits& limits,
                        Holds& holds) {
  const bool ph = role != Role::temperature;
  const double low = ph ? limits.ph_plausible_low : limits.temperature_plausible_low;
  const double high = ph ? limits.ph_plausible_high : limits.temperature_plausible_high;
  const auto plausible = [&](double value) { return value >= low && value <= high; };
  if (!(reading.age >= Duration::zero() && reading.age <= limits.reading_age_max)) {
    holds.emplace_back(ProbeStale{role, reading.age, limits.reading_age_max});
  } else if (ph && flowing_for &&
             !(std::min(reading.age, *flowing_for) <= limits.reading_age_flowing)) {
    // While limewater flows a probe is read far more often, and must be heard.
    holds.emplace_back(ProbeStale{role, reading.age, limits.reading_age_flowing});
  }
  if (!std::isfinite(reading.value) || !std::isfinite(reading.newest)) {
    holds.emplace_back(ProbeNotANumber{role});
  } else if (!plausible(reading.value) || !plausible(reading.newest)) {
    const double shown = plausible(reading.newest) ? reading.value : reading.newest;
    holds.emplace_back(ProbeImplausible{role, shown, low, high});
  }
}

/// `flowing_for` = since when limewater may flow; absent while none may.
void judge_reading(Role role, const signal::Reading& reading,
                   const std::optional<Duration>& flowing_for, const Limits& limits, Holds& holds) {
  const bool ph = role != Role::temperature;
  switch (reading.reason) {
    case signal::Reason::none:
      if (reading.quality == signal::Quality::good) {
        judge_good_reading(role, reading, flowing_for, limits, holds);
      } else {
        // Not good and no reason named is a bug elsewhere; it must hold all the same.
        holds.emplace_back(ProbeMissing{role});
      }
      break;
    case signal::Reason::missing:
      holds.emplace_back(ProbeMissing{role});
      break;
    case signal::Reason::no_communication:
    case signal::Reason::stale:
      holds.emplace_back(ProbeStale{role, reading.age, limits.reading_age_max});
      break;
    case signal::Reason::not_a_number:
      holds.emplace_back(ProbeNotANumber{role});
      break;
    case signal::Reason::implausible:
      holds.emplace_back(ProbeImplausible{
          role, reading.newest, ph ? limits.ph_plausible_low : limits.temperature_plausible_low,
          ph ? limits.ph_plausible_high : limits.temperature_plausible_high});
      break;
    case signal::Reason::stuck:
      holds.emplace_back(ProbeStuck{role, reading.value, reading.lasting});
      break;
    case signal::Reason::unsteady:
      holds.emplace_back(ProbeUnsteady{role, reading.lasting});
      break;
  }
}

/// Proven once, a station stays proven until the next start: later gaps have holds of their own.
void judge_proof(Instant now, const Snapshot& known, const Limits& limits, Judgement& out) {
  const bool good = known.ph.quality == signal::Quality::good &&
                    known.temperature.quality == signal::Quality::good;
  if (out.memory.proven) {
    return;
  }
  if (!good) {
    out.memory.good_since.reset();
    out.holds.emplace_back(NotYetProven{limits.proven});
    return;
  }
  if (!out.memory.good_since || *out.memory.good_since > now) {
    out.memory.good_since = now;
  }
  const Duration proved = now - *out.memory.good_since;
  if (proved >= limits.proven) {
    out.memory.proven = true;
  } else {
    out.holds.emplace_back(NotYetProven{limits.proven - proved});
  }
}

/// Of two pH probes. What was tripped clears only where it may.
void judge_agreement(Instant now, const Snapshot& known, const Limits& limits, bool may_clear,
                     Judgement& out) {
  Memory& memory = out.memory;
  const signal::Reading& second = *known.second_ph;
  if (known.ph.quality == signal::Quality::bad || second.quality == signal::Quality::bad) {
    memory.disagree_since.reset();
  } else {
    const PhChange apart{std::abs(known.ph.value - second.value)};
    if (apart < limits.ph_disagreement) {
      memory.disagree_since.reset();
    } else if (!memory.disagree_since || *memory.disagree_since > now) {
      memory.disagree_since = now;
    }
    if (!(apart < limits.ph_disagreement * kDisagreesAtOnce) ||
        (memory.disagree_since && now - *memory.disagree_since >= limits.ph_disagreement_for)) {
      memory.disagreement_tripped = true;
    } else if (may_clear && apart < limits.ph_disagreement * kDisagreementClears) {
      memory.disagreement_tripped = false;
    }
  }
  if (memory.disagreement_tripped) {
    out.holds.emplace_back(ProbesDisagree{Ph{known.ph.value}, Ph{second.value},
                                          limits.ph_disagreement, limits.ph_disagreement_for});
  }
}

}  // namespace

constinit const Rows<ProbeHold> kProbeRows{
    HoldRow<ProbeMissing>{
        [](const ProbeMissing& h) {
          return either(h.role, "ph-missing", "second-ph-missing", "temperature-missing");
        },
        Clears::by_itself, Reach::ends_pulse, Person::if_it_lasts, Teaches::yes, Flow::as_commanded,
        kNotRemembered, kNoCondition, kNoKey,
        [](const ProbeMissing& h) {
          return fmt::format("No reading yet from {}. Check its cable, unit and address.",
                             probe(h.role));
        }},

    HoldRow<ProbeStale>{
        [](const ProbeStale& h) {
          return either(h.role, "ph-stale", "second-ph-stale", "temperature-stale");
        },
        Clears::by_itself, Reach::ends_pulse, Person::if_it_lasts, Teaches::yes, Flow::as_commanded,
        kNotRemembered, kNoCondition, "limits.reading_age_s",
        [](const ProbeStale& h) {
          return fmt::format(
              "The newest reading of {} is {} old; at most {} is allowed. Check the bus and the "
              "probe's power.",
              probe(h.role), for_people(h.age), for_people(h.limit));
        }},

    HoldRow<ProbeNotANumber>{[](const ProbeNotANumber& h) {
                               return either(h.role, "ph-not-a-number", "second-ph-not-a-number",
                                             "temperature-not-a-number");
                             },
                             Clears::by_itself, Reach::ends_pulse, Person::if_it_lasts,
                             Teaches::yes, Flow::as_commanded, kNotRemembered, kNoCondition, kNoKey,
                             [](const ProbeNotANumber& h) {
                               return fmt::format("{} answers with something that is not a number.",
                                                  first_probe(h.role));
                             }},

    HoldRow<ProbeImplausible>{[](const ProbeImplausible& h) {
                                return either(h.role, "ph-implausible", "second-ph-implausible",
                                              "temperature-implausible");
                              },
                              Clears::by_itself, Reach::ends_pulse, Person::if_it_lasts,
                              Teaches::yes, Flow::as_commanded, kNotRemembered, kNoCondition,
                              [](const ProbeImplausible& h) {
                                return h.role == Role::temperature ? "limits.temperature_low_c"
                                                                   : "limits.ph_plausible_low";
                              },
                              [](const ProbeImplausible& h) {
                                return fmt::format("{} shows {}, outside the plausible {} to {}.{}",
                                                   first_probe(h.role), number(h.role, h.value),
                                                   number(h.role, h.low), number(h.role, h.high),
                                                   likely_cause(h.role, h.value));
                              }},

    HoldRow<ProbeStuck>{[](const ProbeStuck& h) {
                          return either(h.role, "ph-stuck", "second-ph-stuck", "temperature-stuck");
                        },
                        Clears::by_itself, Reach::ends_pulse, Person::if_it_lasts, Teaches::yes,
                        Flow::as_commanded, kNotRemembered, kNoCondition,
                        [](const ProbeStuck& h) {
                          return h.role == Role::temperature ? "limits.temperature_stuck_after_min"
                                                             : "limits.ph_stuck_after_min";
                        },
                        [](const ProbeStuck& h) {
                          return fmt::format(
                              "{} has shown {} without any change for {}: it may be stuck.",
                              first_probe(h.role), number(h.role, h.value), for_people(h.lasting));
                        }},

    HoldRow<ProbeUnsteady>{
        [](const ProbeUnsteady& h) {
          return either(h.role, "ph-unsteady", "second-ph-unsteady", "temperature-unsteady");
        },
        Clears::by_itself, Reach::ends_pulse, Person::not_needed, Teaches::yes, Flow::as_commanded,
        kNotRemembered, kNoCondition,
        [](const ProbeUnsteady& h) {
          return h.role == Role::temperature ? "limits.temperature_jump_c" : "limits.ph_jump";
        },
        [](const ProbeUnsteady& h) {
          return fmt::format("{} jumped lately: it must be steady for another {}.",
                             first_probe(h.role), for_people(h.remaining));
        }},

    HoldRow<ProbeDisturbed>{
        "ph-disturbed", Clears::by_itself, Reach::before_pulse, Person::not_needed, Teaches::yes,
        Flow::as_commanded, kNotRemembered, kNoCondition, kNoKey,
        [](const ProbeDisturbed& h) {
          return fmt::format("The pH probe is left to calm down after a pulse or a stir: {}.",
                             for_people(h.remaining));
        }},

    HoldRow<ProbesDisagree>{
        "ph-probes-disagree", Clears::by_itself, Reach::ends_pulse, Person::if_it_lasts,
        Teaches::yes, Flow::as_commanded, &Memory::disagreement_tripped, kNoCondition,
        "limits.ph_disagreement",
        [](const ProbesDisagree& h) {
          return fmt::format(
              "The pH probes disagree: {:.2f} and {:.2f}; a difference below {:.2f} is allowed, "
              "or "
              "one below {:.2f} for less than {}. Clean and calibrate both.",
              h.first.count(), h.second.count(), h.limit.count(),
              h.limit.count() * kDisagreesAtOnce, for_people(h.lasting));
        }},

    HoldRow<NotYetProven>{"not-yet-proven", Clears::by_itself, Reach::ends_pulse,
                          Person::not_needed, Teaches::yes, Flow::as_commanded, kNotRemembered,
                          kNoCondition, "limits.proven_min", [](const NotYetProven& h) {
                            return fmt::format(
                                "The probes prove themselves after the start: good readings for "
                                "another {}.",
                                for_people(h.remaining));
                          }}};

signal::Reading counting_ph(const Snapshot& known) {
  return known.second_ph ? signal::higher_of(known.ph, *known.second_ph) : known.ph;
}

bool calm(Instant now, const Snapshot& known) {
  return known.ph.quality == signal::Quality::good &&
         (!known.disturbed_until || now >= *known.disturbed_until);
}

void judge_probes(Instant now, const Snapshot& known, const Snapshot& counting,
                  const Limits& limits, Judgement& out) {
  judge_reading(Role::ph, known.ph, known.flowing_for, limits, out.holds);
  if (known.second_ph) {
    judge_reading(Role::second_ph, *known.second_ph, known.flowing_for, limits, out.holds);
  }
  judge_reading(Role::temperature, known.temperature, known.flowing_for, limits, out.holds);
  if (known.second_ph) {
    judge_agreement(now, known, limits, calm(now, counting), out);
  }
  judge_proof(now, counting, limits, out);
}

void judge_disturbance(Instant now, const Snapshot& known, Holds& holds) {
  if (known.disturbed_until && now < *known.disturbed_until) {
    holds.emplace_back(ProbeDisturbed{*known.disturbed_until - now});
  }
}

}  // namespace limegate::rules
