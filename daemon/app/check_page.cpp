#include "app/check_page.h"

#include <algorithm>
#include <chrono>

#include <fmt/format.h>

#include "app/check_limits.h"
#include "app/check_wiring.h"
#include "app/site_supply.h"
#include "config/site_bounds.h"
#include "config/usual.h"
#include "dosing/plan_fit.h"
#include "rules/owner_sentence.h"

namespace limegate::app {
namespace {

/// As it is: "30 s", "15 min".
std::string span_of(Duration span) {
  return span < std::chrono::minutes{2} ? fmt::format("{:.4g} s", in_seconds(span))
                                        : fmt::format("{:.4g} min", in_minutes(span));
}

std::string site_of(const config::Station& station) {
  namespace usual = config::usual;
  const double water = station.site.water.count();
  const double evaporates = station.site.evaporation_per_day.count();
  return fmt::format(
      "  {:.0f} L of water; {:.0f} mL evaporate each day, {:.1f} % of it (usual: {:.1f} to {:.0f} "
      "%).\n"
      "  Reactor bore {:.4g} mm ({:.0f} to {:.0f}); pump at most {:.1f} mL/min ({:.0f} to {:.0f}); "
      "usual is common practice.\n",
      water, evaporates, evaporates / water / 10.0, usual::kEvaporation.low,
      usual::kEvaporation.high, station.site.reactor_bore.count(), usual::kBore.low,
      usual::kBore.high, station.settings.plan.pump_rate.count(), usual::kPumpRate.low,
      usual::kPumpRate.high);
}

std::string pulses_of(const config::Station& station) {
  const dosing::PlanSettings& plan = station.settings.plan;
  const dosing::PlanShape shape = dosing::shape_of(plan);
  const double fullest = fullest_window(station);
  std::string out = fmt::format(
      "  {:.1f} mL a day = {:.1f} mL in each of {:.1f} clear windows\n"
      "    = {} pulses of {}{:.2f} mL and {:.1f} s, one every {:.1f} min; {:.1f} mL in the fullest "
      "hour.\n",
      plan.day_volume.count(), dosing::even_share(plan).count(), shape.windows_per_day,
      shape.pulses_per_window, shape.steps % shape.pulses_per_window == 0 ? "" : "at most ",
      shape.pulse_volume.count(), in_seconds(shape.pulse_duration), in_minutes(shape.slot),
      dosing::shape_of(plan, fullest).hour_volume.count());
  // Steps below what anybody measures a pump by are not worth a sentence.
  if (const Millilitres step = dosing::least_pulse(plan); step > Millilitres{1.0}) {
    out += fmt::format(
        "  The board's timer ends a pulse in steps of {:.1f} s = {:.2f} mL.\n"
        "    What a window can't give in whole steps the next ones give.\n",
        in_seconds(plan.timer_step), step.count());
  }
  return out + fmt::format(
                   "  That is {:.0f} % of the evaporation, and at most {:.0f} mm/h upflow in the "
                   "reactor\n    (warned above {:.0f}, refused above {:.0f}).\n",
                   100.0 * (plan.day_volume / station.site.evaporation_per_day),
                   dosing::upflow_of(plan, fullest).speed.count(), dosing::kUpflowWarn.count(),
                   dosing::kUpflowBound.count());
}

/// How the plan departs from the same in each window.
std::string spread_of(const config::Station& station) {
  const dosing::PlanSettings& plan = station.settings.plan;
  const double most = dosing::most_weight(plan, station::plan_bounds(station.settings.limits));
  const auto window = [&](double weight) { return dosing::shape_of(plan, weight).window_volume; };
  std::string out;
  if (plan.spread == dosing::Spread::night) {
    const double length = in_minutes(plan.night.length()) / 60.0;
    out = fmt::format(
        "  {:.0f} % of it is given from {}: {:.1f} mL in a window there, {:.1f} mL in any other.\n",
        100.0 * plan.night_share, for_people(plan.night),
        window(24.0 / length * plan.night_share).count(),
        window(24.0 / (24.0 - length) * (1.0 - plan.night_share)).count());
  } else if (plan.spread == dosing::Spread::levelling) {
    out = fmt::format(
        "  Once the usual course of the pH is learned, more of it is given where the pH is "
        "expected\n"
        "    lowest: at most {:.1f} mL in a window, at least {:.1f}. Evenly until then.\n",
        window(most).count(), window(dosing::kLeastWeight).count());
  }
  return out + (plan.missed == dosing::PlanSettings::Missed::dropped
                    ? "  What a window misses is dropped.\n"
                    : fmt::format("  What a window misses is made up within 24 h, with at most "
                                  "{:.1f} mL in a window;\n    not what the pH held back.\n",
                                  window(most).count()));
}

/// What chemistry makes of the pulses. An estimate, and called one.
std::string chemistry_of(const config::Station& station) {
  const rules::Limits& limits = station.settings.limits;
  const station::SiteWater& water = station.settings.water;
  if (!water.alkalinity) {
    return "  No alkalinity_dkh is given, so every volume is sized for water of a low pH and "
           "alkalinity.\n";
  }
  std::string at;
  for (const Ph ph : {config::kLowPh, Ph{8.2}, config::kHighPh}) {
    const auto pulse = config::volume_at(ph, limits.pulse_rise, water);
    const auto hour = config::volume_at(ph, limits.hour_rise, water);
    if (pulse && hour) {
      at += fmt::format("{}{:.1f} and {:.1f} mL at pH {:.1f}", at.empty() ? "" : ", ",
                        std::min(*pulse, station.settings.plan.pulse_max).count(),
                        std::min(*hour, limits.hour).count(), ph.count());
    }
  }
  return fmt::format(
      "  At {:.1f} dKH a pulse may raise the pH by an estimated {:.2f}, and an hour's by {:.2f}:\n"
      "    at most {}.\n",
      water.alkalinity->count(), limits.pulse_rise.count(), limits.hour_rise.count(), at);
}

/// What the limewater brings and the powder lasts, saturated at 25 °C. An estimate.
std::string supply_sentence_of(const config::Station& station) {
  const Millilitres day = station.settings.plan.day_volume;
  const auto limewater = chemistry::saturated_limewater(care::kReactorAssumed);
  if (!limewater) {
    return "";
  }
  const auto adds = supply_of(station.site, *limewater, day);
  if (!adds) {
    return "";
  }
  const double grams = chemistry::powder_grams(*limewater, day);
  const auto [least, most] = config::usual::charge_of(station.site.reactor_bore);
  return fmt::format(
      "  It supplies an estimated {:.2f} dKH and {:.1f} mg/L of calcium a day, and takes {:.1f} g "
      "of powder:\n    a charge of {:.0f} to {:.0f} g, common practice for this bore, lasts {:.0f} "
      "to {:.0f} days.\n",
      adds->alkalinity.count(), adds->calcium.count(), grams, least, most, least / grams,
      most / grams);
}

/// What parts and people must bear.
std::string risks_of(const config::Station& station) {
  namespace usual = config::usual;
  const double starts = usual::starts_per_day(station);
  const rules::Limits& limits = station.settings.limits;
  const Millilitres hour{station.settings.plan.pump_rate.count() * 60.0};
  const auto ph =
      station::ph_after(station.settings.water, limits.ceiling, config::kOrdinaryTemperature, hour);
  return fmt::format(
             "  The pump's relay starts {:.0f} times a day: {:.0f} operations (common practice) "
             "last "
             "{:.3g} years.\n"
             "  A pump that sticks on gives {:.0f} mL in an hour: from pH {:.2f} to {}.\n",
             starts, usual::kRelayOperations, usual::relay_years(starts), hour.count(),
             limits.ceiling.count(),
             ph ? fmt::format("an estimated {:.2f}", ph->count()) : "more than 10") +
         (station.settings.pump_ends == station::RunEnds::by_board
              ? "  The board's timer ends a run; only an empty reservoir or a hand ends a contact "
                "that welded shut.\n"
              : "  An empty reservoir ends it, or a hand; 'limegate off', where the contact still "
                "opens.\n") +
         (station.settings.stirrer == station::StirrerKind::switched
              ? fmt::format("  A reboot costs a full settle, {}, before the next pulse; a restart "
                            "of limegate alone {}.\n",
                            span_of(limits.settle), span_of(limits.proven))
              : fmt::format("  Each start costs a full settle, {}, before the next pulse.\n",
                            span_of(limits.settle)));
}

/// How far the day's volume may be set at the station without another file, and why.
std::string volume_of(const config::Station& station) {
  const rules::Limits& limits = station.settings.limits;
  const dosing::PlanBounds bounds = station::plan_bounds(limits);
  dosing::PlanSettings plan = station.settings.plan;
  const Millilitres most = dosing::most_a_day(plan, bounds);
  const Millilitres cap = config::day_bound(station.site);
  const std::string why_cap = cap < station.site.evaporation_per_day
                                  ? "20 mL for each litre of water"
                                  : "no more than evaporates";
  const auto is_day = [](const config::GivenNumber& one) { return one.key == "max_day_ml"; };
  std::string why = "max_day_ml of your file";
  plan.day_volume = limits.day;
  if (const auto objections = dosing::objections_to(plan, bounds); !objections.empty()) {
    why = fmt::format("with more\n    {}", objections.front());
  } else if (limits.day >= cap) {
    why = why_cap;
  } else if (std::none_of(station.given.begin(), station.given.end(), is_day)) {
    why = fmt::format(
        "the day's volume and one pulse,\n    as max_day_ml is not in your file. There it may be "
        "up "
        "to {:.1f}: {}",
        cap.count(), why_cap);
  }
  return fmt::format("  'limegate volume' may go to {:.1f} mL a day: {}.\n", most.count(), why);
}

/// Each rule read back as one sentence.
std::string rules_of(const config::Station& station) {
  const rules::OwnerRulebook& book = station.settings.owner;
  std::string out = book.rules.empty() ? "" : "  The owner's rules, which only withhold\n";
  for (const rules::OwnerRule& rule : book.rules) {
    out += fmt::format("    {}: {}\n", rule.name, rules::sentence_of(rule, book.inputs));
  }
  return out;
}

}  // namespace

double fullest_window(const config::Station& station) {
  const dosing::PlanSettings& plan = station.settings.plan;
  const double most = dosing::most_weight(plan, station::plan_bounds(station.settings.limits));
  const bool takes_all = plan.spread == dosing::Spread::levelling ||
                         plan.missed == dosing::PlanSettings::Missed::made_up;
  return std::max(dosing::fullest_weight(plan), takes_all ? most : 1.0);
}

std::string page_of(const config::Config& config, const config::Station& station) {
  const dosing::PlanSettings& plan = station.settings.plan;
  const dosing::PlanShape shape = dosing::shape_of(plan);
  std::string out =
      fmt::format("Station {}{}\n", station.settings.name, station.wiring ? "" : " (simulated)");
  out += site_of(station) + wiring_of(config, station);
  out += fmt::format(
      "  The stirrer {} {} every {}; then the limewater settles for {} (usual: from {}):\n"
      "    {} of each cycle are clear.\n",
      station.settings.stirrer == station::StirrerKind::switched ? "runs" : "is expected to run",
      span_of(plan.stir.run), span_of(plan.stir.every), span_of(plan.settle),
      span_of(config::usual::kSettle), span_of(std::max(Duration::zero(), shape.clear_window)));
  if (shape.pulses_per_window == 0) {
    out += "  Nothing is dosed: the day's volume is zero.\n";
  } else {
    out += pulses_of(station) + spread_of(station) + chemistry_of(station) +
           supply_sentence_of(station);
    out += station.wiring ? risks_of(station) : "";
  }
  return out + volume_of(station) + limits_of(station) + rules_of(station);
}

}  // namespace limegate::app
