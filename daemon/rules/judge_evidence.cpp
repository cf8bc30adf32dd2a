#include "rules/judge_evidence.h"

#include <algorithm>
#include <cmath>
#include <cstdlib>

namespace limegate::rules {
namespace {

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

}  // namespace

void judge_stirrer(Instant now, const Snapshot& known, const Limits& limits, Holds& holds) {
  switch (known.stirrer.rhythm) {
    case StirrerKnown::Rhythm::kept:
      break;
    case StirrerKnown::Rhythm::overdue:
      holds.emplace_back(StirOverdue{});
      break;
    case StirrerKnown::Rhythm::endless:
      holds.emplace_back(StirEndless{});
      break;
  }
  switch (known.stirrer.state) {
    case StirrerKnown::State::running:
      holds.emplace_back(StirrerRunning{});
      return;
    case StirrerKnown::State::unknown:
      holds.emplace_back(StirrerUnknown{});
      return;
    case StirrerKnown::State::resting: {
      const Duration rested = now - known.stirrer.rested_since;
      if (!(rested >= limits.settle)) {
        holds.emplace_back(Settling{limits.settle - rested});
      }
      return;
    }
  }
  std::abort();
}

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

}  // namespace limegate::rules
