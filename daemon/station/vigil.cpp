#include "station/vigil.h"

#include <algorithm>
#include <array>
#include <chrono>
#include <utility>

namespace limegate::station {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

constexpr std::array<Duration, 4> kSilenceAlerts{6h, 12h, 24h, 48h};
/// A hold that does not mend itself is told to a person after this.
constexpr Duration kLongHold = 10min;

constexpr Duration kDay = 24h;

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
  // Also where it was raised by itself, as at the end of a journey.
  for (std::size_t i = 1; i < history.volumes.size(); ++i) {
    const dosing::VolumeInForce& one = history.volumes[i];
    if (one.volume > history.volumes[i - 1].volume) {
      known = std::max(known, on_this_boot(one.since.lifetime) + kDay);
    }
  }
  return std::clamp(known, now.mono + 1h, now.mono + kDay);
}

/// When the volume that is in force now followed on none. Nobody knows it where one was set from
/// afar: none of that is the keeper's wish.
Instant silent_by_wish_to(const History& history) {
  if (std::any_of(history.wishes.begin(), history.wishes.end(),
                  [](const Wish& wish) { return wish.what == Wish::What::volume_from_afar; })) {
    return Instant::min();
  }
  Instant to = Instant::min();
  bool none = false;
  for (const dosing::VolumeInForce& one : history.volumes) {
    const bool some = one.volume > Millilitres{0.0};
    if (none && some) {
      to = Instant{one.since.lifetime - history.lifetime_before_boot};
    }
    none = !some;
  }
  return to;
}

}  // namespace

Vigil::Vigil(const Settings& settings, const History& history,
             const std::optional<dosing::Stamp>& asked, Moment now)
    : stirrer_(settings.stirrer),
      usual_low_(settings.limits.temperature_usual_low),
      usual_high_(settings.limits.temperature_usual_high),
      last_dosed_(silent_since(history, now.mono)),
      shortfall_checked_(first_shortfall_check(history, asked, now) - kDay),
      silent_by_wish_to_(silent_by_wish_to(history)) {}

void Vigil::note_silence(Moment now, Millilitres wished, const std::function<std::string()>& why,
                         Effects& effects) {
  const bool by_wish = !(wished > Millilitres{0.0});
  if (by_wish) {
    silent_by_wish_to_ = now.mono;
  }
  if (wished_ && wished > *wished_) {
    shortfall_checked_ = now.mono;
  }
  wished_ = wished;
  const Duration lasting = now.mono - std::max(last_dosed_, silent_by_wish_to_);
  if (silence_alerts_ > 0 && lasting < kSilenceAlerts[0]) {
    silence_alerts_ = 0;
    effects.emplace_back(Raise{{now.wall,
                                Severity::info,
                                "dosing-resumed",
                                by_wish ? "Nothing is to be dosed: the day's volume is 0 mL."
                                        : "Dosing goes on after a long silence.",
                                {},
                                "dosing-stopped"}});
  }
  // What was set to zero from afar is no wish of the keeper: it is told like any other silence.
  if (by_wish || silence_alerts_ >= kSilenceAlerts.size() ||
      lasting < kSilenceAlerts[silence_alerts_]) {
    return;
  }
  while (silence_alerts_ + 1 < kSilenceAlerts.size() &&
         lasting >= kSilenceAlerts[silence_alerts_ + 1]) {
    ++silence_alerts_;  // it was silent before the start: the longest says it all
  }
  std::string sentence = "No limewater was dosed for " +
                         rules::for_people(kSilenceAlerts[silence_alerts_]) + "." + why();
  ++silence_alerts_;
  effects.emplace_back(
      Raise{{now.wall, Severity::alert, "dosing-stopped", std::move(sentence), "dosing-stopped"}});
}

bool Vigil::day_is_over(Instant now) const { return now - shortfall_checked_ >= kDay; }

void Vigil::note_day(Moment now, Millilitres planned, Millilitres given, Effects& effects) {
  if (!(planned > Millilitres{0.0}) || !day_is_over(now.mono)) {
    return;
  }
  shortfall_checked_ = now.mono;
  if (given * 2.0 < planned) {
    effects.emplace_back(Raise{
        {now.wall, Severity::alert, "dosing-below-plan",
         "Less than half of the planned volume was dosed in the last 24 h: " +
             rules::volume_for_people(given) + " of " + rules::volume_for_people(planned) + "."}});
  }
}

void Vigil::note_temperature(Moment now, const signal::Reading& reading, Effects& effects) {
  if (reading.quality != signal::Quality::good) {
    return;
  }
  const bool unusual = reading.value < usual_low_ || reading.value > usual_high_;
  // Half a degree of slack, so that a value at the edge is not told again and again.
  const bool usual = reading.value >= usual_low_ + 0.5 && reading.value <= usual_high_ - 0.5;
  if (unusual && !temperature_told_) {
    temperature_told_ = true;
    effects.emplace_back(Raise{{now.wall, Severity::alert, "temperature-unusual",
                                "The water has " + rules::temperature_for_people(reading.value) +
                                    "; a reef likes 22 to 29 °C. Look after heater and cooling.",
                                "temperature-unusual"}});
  } else if (usual && temperature_told_) {
    temperature_told_ = false;
    effects.emplace_back(
        Raise{{now.wall,
               Severity::info,
               "temperature-usual",
               "The water has " + rules::temperature_for_people(reading.value) + " again.",
               {},
               "temperature-unusual"}});
  }
}

void Vigil::note_long_holds(Moment now, const rules::Holds& holds,
                            const std::vector<Standing>& standing, Effects& effects) {
  const auto stands = [](const std::vector<Standing>& all, const Standing& one) {
    return std::any_of(all.begin(), all.end(), [&](const Standing& other) {
      return other == one && other.since.mono == one.since.mono;
    });
  };
  std::erase_if(told_, [&](const Standing& one) { return !stands(standing, one); });
  for (std::size_t i = 0; i < holds.size(); ++i) {
    if (now.mono - standing[i].since.mono >= kLongHold &&
        rules::person(holds[i]) == rules::Person::if_it_lasts && !stands(told_, standing[i])) {
      told_.push_back(standing[i]);
      effects.emplace_back(Raise{{now.wall, Severity::alert, "long-" + standing[i].code,
                                  "Dosing has been held for " + rules::for_people(kLongHold) +
                                      ". " + told(holds[i], stirrer_),
                                  standing[i].code}});
    }
  }
}

}  // namespace limegate::station
