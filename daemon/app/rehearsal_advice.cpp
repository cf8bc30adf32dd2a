#include "app/rehearsal_advice.h"

#include <algorithm>
#include <chrono>
#include <initializer_list>

#include <fmt/format.h>

#include "app/advice_sentences.h"

namespace limegate::app {
namespace {

using rehearsal::Fault;
using rehearsal::Outcome;
using Kind = Fault::Kind;

/// What a hand test tells apart (common practice: tests of alkalinity go by about 0.5 dKH).
constexpr Dkh kNoticed{0.5};
constexpr double kNearlySpent = 0.2;

double days_of(Duration duration) {
  return std::chrono::duration<double, std::ratio<86400>>(duration).count();
}

/// The first of the faults that is of such a kind; empty if none is.
std::string named(const Outcome& outcome, std::initializer_list<Kind> kinds) {
  for (const Fault& fault : outcome.faults) {
    if (std::find(kinds.begin(), kinds.end(), fault.kind) != kinds.end()) {
      return rehearsal::about(fault.kind).name;
    }
  }
  return {};
}

/// What gave limewater, or milk, that nobody commanded.
std::string flowed_by(const Outcome& outcome) {
  std::string names;
  for (const Fault& fault : outcome.faults) {
    const rehearsal::FaultKind& kind = rehearsal::about(fault.kind);
    if (kind.physical == rehearsal::FaultKind::Physical::yes) {
      names += (names.empty() ? "" : " and ") + std::string{kind.name};
    }
  }
  return names;
}

/// What moved the water's alkalinity or pH beside the doses.
std::string moved_by(const Outcome& outcome) {
  return named(outcome, {Kind::hand_dosed, Kind::precipitation, Kind::top_off, Kind::room_co2});
}

/// What made a dose bring less than it counts.
std::string weakened_by(const Outcome& outcome) {
  return named(outcome, {Kind::powder_spent, Kind::limewater_spoiled, Kind::pump_dead,
                         Kind::pump_worn, Kind::pump_relay_dead});
}

std::string on_ph(const Outcome& outcome, Ph ceiling) {
  if (!(outcome.ph_high > ceiling.count())) {
    return {};
  }
  if (const std::string by = flowed_by(outcome); !by.empty()) {
    return fmt::format(
        "{} while {} gave what nobody commanded: no plan prevents that. Keep an independent limit "
        "in hardware, such as a reservoir small enough to be survived.",
        passed_ceiling(ceiling), by);
  }
  if (const std::string by = moved_by(outcome); !by.empty()) {
    return fmt::format("{} by {}, and not by the plan.", passed_ceiling(ceiling), by);
  }
  return advice_on_ceiling(ceiling);
}

std::string on_alkalinity(const Outcome& outcome, bool too_much_already) {
  const Dkh change = outcome.alkalinity_end - outcome.alkalinity_start;
  const bool rose = change > Dkh{0.0};
  if (!(std::max(change, Dkh{0.0} - change) >= kNoticed)) {
    return {};
  }
  const std::string moved =
      fmt::format("Alkalinity {} by {:.1f} dKH in {:.1f} days", rose ? "rose" : "fell",
                  (rose ? change : Dkh{0.0} - change).count(), days_of(outcome.lasted));
  for (const std::string& by :
       {flowed_by(outcome), moved_by(outcome), rose ? "" : weakened_by(outcome)}) {
    if (!by.empty()) {
      return fmt::format("{}; {} had a part in it, so it says nothing of the plan.", moved, by);
    }
  }
  if (!rose && outcome.delivered < outcome.planned * kMostOfPlan) {
    return moved + ", because less was given than planned.";
  }
  if (!rose && too_much_already) {
    return moved + " although pH bears no more: what is missing must come from another method.";
  }
  return moved + (rose ? ": this tank takes up less than day_volume_ml gives. Give less."
                       : ": this tank takes up more than day_volume_ml gives. Give more, as far as "
                         "evaporation and pH allow, or supply the rest by another method.");
}

}  // namespace

bool gave_milk(const Outcome& outcome) {
  constexpr double dissolved = 1.5;  // g/L of Ca(OH)2 in saturated limewater at 25 °C
  constexpr double least = 0.05;     // g: less is the arithmetic of seconds
  const double liters = outcome.delivered.count() / 1000.0;
  return outcome.powder_carried_g > std::max(least, dissolved * liters / 20.0);
}

std::vector<std::string> advice_on(const Outcome& outcome, const config::Station& station) {
  const Ph ceiling = station.settings.limits.ceiling;
  const bool milk = gave_milk(outcome) && flowed_by(outcome).empty();
  const bool spent = outcome.powder_g_end < outcome.powder_g_start * kNearlySpent &&
                     named(outcome, {Kind::powder_spent}).empty();
  std::vector<std::string> advice{
      advice_on_volume(outcome.delivered, outcome.planned, outcome.held), on_ph(outcome, ceiling),
      milk ? "Powder was carried over: let it settle for longer, or use a wider reactor." : "",
      spent ? "The charge is nearly spent: add powder earlier, or use a wider reactor." : "",
      on_alkalinity(outcome, outcome.ph_high > ceiling.count())};
  std::erase(advice, std::string{});
  if (advice.empty()) {
    advice.emplace_back("Nothing.");
  }
  return advice;
}

}  // namespace limegate::app
