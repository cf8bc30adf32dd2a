#include "app/check_limits.h"

#include <chrono>
#include <cmath>

#include <fmt/format.h>

#include "rules/limits.h"
#include "signal/joined_climb.h"
#include "station/reference.h"
#include "units/plain_number.h"

namespace limegate::app {
namespace {

/// By its own course; what a person releases stands last.
std::string of_the_ph(const config::Station& station) {
  const rules::Limits& limits = station.settings.limits;
  const double unusual = limits.unusual_climb.count();
  std::string out = fmt::format(
      "    at pH {:.2f} and above, until it is below {:.2f} again;\n"
      "    at pH {:.2f} until a person at the station releases it;\n"
      "    when pH climbed by {:.2f} or more within {:.4g} min, and while nobody has watched it "
      "for "
      "so\n      long;\n",
      limits.ceiling.count(), limits.ceiling_resume.count(), limits.second_ceiling.count(),
      limits.climb.count(), in_minutes(limits.climb_window));
  out += fmt::format(
      "    when pH climbed above its usual course, once a week has taught it:\n"
      "      by {:.3f} within {:.0f} h, {:.3f} beyond {:.2f} an hour, or {:.3f} above the mean of "
      "two "
      "days;\n"
      "    when it goes on so by {:.2f} for {:.0f} min although the pump rests, until a person "
      "releases it;\n",
      unusual, in_minutes(signal::JoinedClimb::kWindow) / 60.0,
      unusual * signal::JoinedClimb::share(signal::Pace::quick),
      limits.climb_allowance_per_h.count(),
      unusual * signal::JoinedClimb::share(signal::Pace::lasting), limits.climb_goes_on.count(),
      in_minutes(limits.climb_goes_on_for));
  const auto& reference = station.settings.reference;
  out += fmt::format(
      "    when pH is {:.2f} or more above {};\n"
      "      an hour of it eases the day's volume by {:.0f} %, and each calm day gives {:.0f} % of "
      "it "
      "back;\n",
      limits.rise.count(),
      reference ? fmt::format("its reference, pH {:.2f} in the mean of a day", reference->count())
                : "its reference, once undosed days have shown it before dosing",
      100.0 * (1.0 - station::Reference::kEases), 100.0 * station::Reference::kStepsUp);
  out += fmt::format(
      "    when alkalinity was tested above {:.1f} dKH, until a newer test is below it;\n",
      limits.alkalinity_max.count());
  return out + fmt::format(
                   "    when a day's doses raise the pH {:.1f} times as much as usual, until a "
                   "person releases it;\n      below three tenths of that a person is told;\n",
                   limits.effect_too_large);
}

/// Where they come from: the file, the site, or the default.
std::string sources_of(const config::Station& station) {
  std::string out = station.given.empty()
                        ? ""
                        : "    your file (beside the default, and what no file can pass):\n";
  for (const config::GivenNumber& given : station.given) {
    const bool at_bound = given.value <= given.bounds.low || given.value >= given.bounds.high;
    out += fmt::format("      {} {} ({}; {} to {}){}\n", given.key, plain_number(given.value, 6),
                       plain_number(given.otherwise, 6), plain_number(given.bounds.low, 6),
                       plain_number(given.bounds.high, 6), at_bound ? ", at the bound" : "");
  }
  return "  Where the limits come from\n" + out +
         "    the site, where the file has none: max_pulse_ml, max_hour_ml, max_day_ml;\n"
         "    the default, which is common practice or reasoned in limegate-rules(7): all "
         "others.\n";
}

}  // namespace

std::string limits_of(const config::Station& station) {
  const rules::Limits& limits = station.settings.limits;
  std::string out = "  Dosing is held\n" + of_the_ph(station);
  out += fmt::format(
      "    without good pH and temperature readings of the last {:.4g} s (pH while the pump runs: "
      "{:.4g} s),\n      and for the first {:.4g} min after each start;\n",
      in_seconds(limits.reading_age_max), in_seconds(limits.reading_age_flowing),
      in_minutes(limits.proven));
  if (station.settings.second_ph) {
    out += fmt::format(
        "    when its two pH probes differ by {:.2f} or more for {:.0f} min, or by {:.2f} at "
        "once;\n"
        "      of both the higher one counts;\n",
        limits.ph_disagreement.count(), in_minutes(limits.ph_disagreement_for),
        limits.ph_disagreement.count() * rules::kDisagreesAtOnce);
  }
  out += fmt::format(
      "    outside pH {:.1f} to {:.1f} and {:.4g} to {:.4g} °C;\n"
      "    beyond {:.1f} mL in any hour and {:.1f} mL in any 24 hours;\n"
      "    while the stirrer runs and for {:.4g} min after; when an outlet is not confirmed off;\n"
      "    when the ledger can't be written.\n",
      limits.ph_plausible_low, limits.ph_plausible_high, limits.temperature_plausible_low,
      limits.temperature_plausible_high, limits.hour.count(), limits.day.count(),
      in_minutes(limits.settle));
  return out + sources_of(station);
}

}  // namespace limegate::app
