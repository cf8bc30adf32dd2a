#include "station/history.h"

#include <algorithm>
#include <cmath>

namespace limegate::station {
namespace {

/// No aquarium's pH is outside.
constexpr double kPhLeast = 6.0;
constexpr double kPhMost = 10.0;
/// In terms of the slow judge's limit, as it is kept.
constexpr double kClimbMost =
    (kPhMost - kPhLeast) / signal::JoinedClimb::share(signal::Pace::quick);

/// Priming and the first days take no more pulses than this.
constexpr std::int64_t kFewPulses = 50;

}  // namespace

bool well_formed_code(const std::string& code) {
  return !code.empty() && code.size() <= 64 && std::all_of(code.begin(), code.end(), [](char c) {
    return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '-';
  });
}

std::optional<Instant> limewater_since(const History& history, Instant now) {
  if (!history.newest_given && history.newest_pulse_id == 0 && history.doses.empty()) {
    return std::nullopt;
  }
  return history.newest_given
             ? std::min(now, Instant{history.newest_given->lifetime - history.lifetime_before_boot})
             : now;
}

Instant silent_since(const History& history, Instant now) {
  // The first volume is written down in the first second.
  if (!history.newest_given && !history.volumes.empty()) {
    return std::min(now,
                    Instant{history.volumes.front().since.lifetime - history.lifetime_before_boot});
  }
  return limewater_since(history, now).value_or(now);
}

bool is_new(const History& history) {
  const bool said = std::any_of(history.wishes.begin(), history.wishes.end(), [](const Wish& wish) {
    return wish.what == Wish::What::volume_at_station;
  });
  const bool lost = history.newest_pulse_id == 0 && !history.doses.empty();
  return !said && !lost && history.newest_pulse_id < kFewPulses;
}

std::optional<SeenBefore> believable(const std::optional<SeenBefore>& seen, Instant now,
                                     Duration window) {
  const auto recent = [&](Instant at) { return at <= now && now - at <= window; };
  const auto within = [](double value, double low, double high) {
    return value >= low && value <= high;  // no NaN is
  };
  if (!seen || !recent(seen->ph.at) || !within(seen->ph.value, kPhLeast, kPhMost) ||
      !within(seen->ph.lowest, kPhLeast, seen->ph.value)) {
    return std::nullopt;
  }
  SeenBefore known = *seen;
  if (const auto& left = known.left;
      left && !(recent(left->at) && within(left->value.count(), kPhLeast, kPhMost) &&
                within(std::abs(left->residual.value.count()), 0.0, kPhMost - kPhLeast) &&
                within(left->residual.climb.count(), 0.0, kClimbMost))) {
    known.left.reset();
  }
  if (const auto& rest = known.climb_at_rest;
      !known.left || (rest && !(rest->since <= now && std::isfinite(rest->lowest.count())))) {
    known.climb_at_rest.reset();
  }
  return known;
}

}  // namespace limegate::station
