#include "app/rehearsal_words.h"

#include <algorithm>
#include <chrono>

#include <fmt/chrono.h>
#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "app/rehearsal_advice.h"
#include "app/rehearsed_messages.h"
#include "rules/for_people.h"
#include "units/plain_number.h"

namespace limegate::app {
namespace {

using nlohmann::json;
using rehearsal::Outcome;

/// A haze that is seen across a tank (common practice).
constexpr MgPerLitre kSeenAsCloud{5.0};

double days_of(Duration duration) {
  return std::chrono::duration<double, std::ratio<86400>>(duration).count();
}
double hours_of(Duration duration) {
  return std::chrono::duration<double, std::ratio<3600>>(duration).count();
}

/// In the words of a config file, so that the tank can be rehearsed by its file.
std::string habits_of(const rehearsal::Habits& drawn) {
  const auto& habits = drawn.tank.aquarium.habits;
  return fmt::format(
      "simulation = {{ water_change_percent = {:g}, water_change_days = {}, feeding_umol_kg = "
      "{:g}, "
      "feedings_per_day = {}, skimmate_ml_per_day = {:g}, evaporation_season_percent = {:g}, "
      "reactor_layers = {} }}, from {:%F} on",
      habits.water_change.count(), habits.water_change_days, habits.feeding.count(),
      habits.feedings_per_day, habits.skimmate_per_day.count(), habits.season_swing * 100.0,
      drawn.tank.reactor.layers, std::chrono::floor<std::chrono::days>(drawn.start));
}

/// What the world does despite everything, beside the most that it can do.
std::string exposures_of(const rehearsal::Exposures& exposures) {
  std::string out = fmt::format(
      "  Beyond what was commanded, at its worst and at most (mL of limewater; rise of the pH in "
      "the "
      "display):\n    {:<20} {:>6} {:>6}  {:>16}  {:>15}  {:>13}  {:>11}\n",
      "fault", "judged", "mixed", "mL", "powder, g", "pH", "until alert");
  for (const auto& [kind, worst] : exposures) {
    const std::string alert =
        worst.longest_until_alert
            ? fmt::format("{:.0f} s",
                          std::chrono::duration<double>(*worst.longest_until_alert).count())
            : std::string{"none came"};
    out += fmt::format(
        "    {:<20} {:>6} {:>6}  {:>7.1f}/{:>8.1f}  {:>7.2f}/{:>7.2f}  {:>6.3f}/{:>6.3f}  {:>11}\n",
        rehearsal::about(kind).name, worst.times, worst.mixed, worst.millilitres.worst,
        worst.millilitres.bound, worst.powder_g.worst, worst.powder_g.bound, worst.rise.worst,
        worst.rise.bound, alert);
  }
  for (const auto& [kind, worst] : exposures) {
    out += fmt::format("    {}: at most {}.\n", rehearsal::about(kind).name,
                       rehearsal::bound_reason(kind));
  }
  return out;
}

/// What was asked to go wrong, read back.
std::string faults_of(const Outcome& outcome) {
  std::string out;
  for (const rehearsal::Fault& fault : outcome.faults) {
    const std::string lasting =
        fault.lasting > Duration::zero() ? ", for " + lasting_words(fault.lasting) : "";
    out += fmt::format("    {}{}: {}\n", course_time(fault.at), lasting, fault_words(fault));
  }
  return out.empty() ? "" : "  Goes wrong on purpose:\n" + out;
}

/// Less than this that counted and did not flow is arithmetic.
constexpr double kAlike = 0.995;

std::string volumes_of(const Outcome& outcome) {
  return fmt::format(
      "  Planned {:.0f} mL; counted {:.0f}; truly given {:.0f}{} in {} pulses, with {} stirs.\n",
      outcome.planned.count(), outcome.counted.count(), outcome.delivered.count(),
      outcome.planned > Millilitres{}
          ? fmt::format(" ({:.1f} % of the plan)", 100.0 * (outcome.delivered / outcome.planned))
          : "",
      outcome.pulses, outcome.stirs);
}

std::string alert_lines(const Outcome& outcome) {
  const AlertTable alerts = alerts_of(outcome);
  std::string out =
      alerts.rows().empty() ? "  No alert would have come.\n" : "  Alerts that would have come:\n";
  for (const AlertTable::Row& row : alerts.rows()) {
    out += fmt::format("    {}: {}{}\n", row.first, row.sentence,
                       row.times > 1 ? fmt::format(" (again {} {}, last on {})", row.times - 1,
                                                   row.times == 2 ? "time" : "times", row.last)
                                     : "");
  }
  return out;
}

json exposures_json(const rehearsal::Exposures& of_all) {
  const auto measure = [](const rehearsal::Exposed::Measure& of) {
    return json{{"worst", of.worst}, {"bound", of.bound}};
  };
  const auto until_alert = [](const rehearsal::Exposed& of) {
    return of.longest_until_alert ? json(in_seconds(*of.longest_until_alert)) : json(nullptr);
  };
  json exposures = json::object();
  for (const auto& [kind, worst] : of_all) {
    exposures[rehearsal::about(kind).name] = {{"judged", worst.times},
                                              {"mixed", worst.mixed},
                                              {"beyond_command_ml", measure(worst.millilitres)},
                                              {"powder_g", measure(worst.powder_g)},
                                              {"ph_rise", measure(worst.rise)},
                                              {"until_alert_s", until_alert(worst)}};
  }
  return exposures;
}

json faults_json(const Outcome& outcome) {
  json list = json::array();
  for (const rehearsal::Fault& fault : outcome.faults) {
    list.push_back(rehearsal::to_text(fault));
  }
  return list;
}

}  // namespace

std::string course_time(Duration since_start) {
  const auto minutes = std::chrono::floor<std::chrono::minutes>(since_start).count();
  return fmt::format("day {}, {:02}:{:02}", minutes / 1440 + 1, minutes / 60 % 24, minutes % 60);
}

std::string lasting_words(Duration lasting) {
  using Days = std::chrono::duration<long, std::ratio<86400>>;
  const auto days = std::chrono::duration_cast<Days>(lasting);
  if (days == lasting) {
    return fmt::format("{} {}", days.count(), days.count() == 1 ? "day" : "days");
  }
  return lasting % std::chrono::hours{1} == Duration::zero()
             ? fmt::format("{} h", lasting / std::chrono::hours{1})
             : rules::for_people(lasting);
}

std::string fault_words(const rehearsal::Fault& fault) {
  const rehearsal::FaultKind& kind = rehearsal::about(fault.kind);
  return fmt::format("{}{} ({})", kind.about,
                     fault.value != 0 ? ": " + plain_number(fault.value, 6) : "", kind.name);
}

std::vector<std::string> remarks_on(const Outcome& outcome) {
  std::vector<std::string> remarks;
  if (outcome.counted > Millilitres{} && outcome.delivered < outcome.counted * kAlike) {
    remarks.push_back(
        fmt::format("A pulse counts at the highest rate that the pump may have; what flowed is "
                    "{:.0f} % of what counts.",
                    100.0 * (outcome.delivered / outcome.counted)));
  }
  if (outcome.counted < outcome.planned * kAlike) {
    remarks.push_back(
        fmt::format("{:.0f} % of the plan was not begun: it was held, as below, or lay before the "
                    "first stir had settled.",
                    100.0 * (1.0 - outcome.counted / outcome.planned)));
  }
  if (gave_milk(outcome)) {
    remarks.push_back(fmt::format("Milk: {:.1f} g of powder left the reactor undissolved.",
                                  outcome.powder_carried_g));
  }
  if (outcome.cloud_highest > kSeenAsCloud) {
    remarks.push_back(fmt::format("The water turned cloudy: {:.0f} mg/L of solids at the worst.",
                                  outcome.cloud_highest.count()));
  }
  return remarks;
}

AlertTable alerts_of(const Outcome& outcome) {
  AlertTable alerts;
  for (const Outcome::Told& one : outcome.alerts) {
    alerts.add(one.event.code, one.event.sentence, course_time(one.at));
  }
  return alerts;
}

std::string words_of(const Outcome& outcome, const config::Station& station) {
  const double used = outcome.powder_g_start - outcome.powder_g_end;
  std::string out = fmt::format("Station {}: {:.1f} days rehearsed\n", station.settings.name,
                                days_of(outcome.lasted));
  out += faults_of(outcome) + volumes_of(outcome);
  out += fmt::format(
      "  pH was {:.2f} at the lowest and {:.2f} at the highest (as a true probe shows it); the "
      "worst rise within 30 min was {:.3f}.\n  Alkalinity went from {:.1f} to {:.1f} dKH.\n",
      outcome.ph_low, outcome.ph_high, outcome.rise_30min, outcome.alkalinity_start.count(),
      outcome.alkalinity_end.count());
  for (const std::string& remark : remarks_on(outcome)) {
    out += fmt::format("    {}\n", remark);
  }
  out += used > 0 ? fmt::format(
                        "  Powder: {:.0f} of {:.0f} g were used, {:.1f} g a day; that "
                        "lasts for {:.0f} more days.\n",
                        used, outcome.powder_g_start, used / days_of(outcome.lasted),
                        std::max(0.0, outcome.powder_g_end) / used * days_of(outcome.lasted))
                  : std::string{"  No powder was used.\n"};
  out += fmt::format("  The longest time without limewater was {:.1f} h.\n",
                     hours_of(outcome.longest_silence));
  out += "  Held by reason:\n";
  for (const auto& [code, lasting] : outcome.held) {
    out += fmt::format("    {:<36} {:>8.1f} h\n", code, hours_of(lasting));
  }
  out += alert_lines(outcome);
  if (const std::size_t messages = count_messages(outcome); messages > 0) {
    out += fmt::format(
        "  {} messages to people, if nobody had seen any: {:.0f} a month of 30 days like these.\n",
        messages, static_cast<double>(messages) / days_of(outcome.lasted) * 30.0);
  }
  if (!outcome.exposures.empty()) {
    out += exposures_of(outcome.exposures);
  }
  out += "  What to change:\n";
  for (const std::string& advice : advice_on(outcome, station)) {
    out += fmt::format("  - {}\n", advice);
  }
  for (const std::string& violation : outcome.violations) {
    out += "  BROKEN PROMISE: " + violation + "\n";
  }
  return out;
}

json json_of(const Outcome& outcome, const config::Station& station) {
  json held = json::object();
  for (const auto& [code, lasting] : outcome.held) {
    held[code] = hours_of(lasting);
  }
  json alerts = json::array();
  for (const Outcome::Told& told : outcome.alerts) {
    alerts.push_back({{"hour", hours_of(told.at)},
                      {"code", told.event.code},
                      {"sentence", told.event.sentence}});
  }
  return {{"station", station.settings.name},
          {"days", days_of(outcome.lasted)},
          {"planned_ml", outcome.planned.count()},
          {"counted_ml", outcome.counted.count()},
          {"delivered_ml", outcome.delivered.count()},
          {"pulses", outcome.pulses},
          {"stirs", outcome.stirs},
          {"restarts", outcome.restarts},
          {"ph_low", outcome.ph_low},
          {"ph_high", outcome.ph_high},
          {"cloud_high_mg_per_l", outcome.cloud_highest.count()},
          {"powder_carried_g", outcome.powder_carried_g},
          {"faults", faults_json(outcome)},
          {"exposures", exposures_json(outcome.exposures)},
          {"rise_30min", outcome.rise_30min},
          {"alkalinity_start_dkh", outcome.alkalinity_start.count()},
          {"alkalinity_end_dkh", outcome.alkalinity_end.count()},
          {"powder_start_g", outcome.powder_g_start},
          {"powder_end_g", outcome.powder_g_end},
          {"longest_silence_h", hours_of(outcome.longest_silence)},
          {"held_h", std::move(held)},
          {"alerts", std::move(alerts)},
          {"messages", count_messages(outcome)},
          {"broken_promises", outcome.violations}};
}

std::string words_of(const rehearsal::CampaignOutcome& sum, const Campaign& given) {
  std::string out = fmt::format(
      "Station {}: {} courses of {:.1f} days, seeds {} to {}: {:.1f} tank-years, {} pulses, {} "
      "restarts, {} alerts.\n  Highest true pH {:.2f}; the longest time without limewater {:.1f} "
      "h.\n  Faults:\n",
      given.station, sum.courses, given.days, given.seed, given.seed + given.seeds - 1,
      days_of(sum.lasted) / 365.25, sum.pulses, sum.restarts, sum.alerts, sum.ph_high,
      hours_of(sum.longest_silence));
  for (const auto& [kind, times] : sum.faults) {
    out += fmt::format("    {:<24} {:>8}\n", rehearsal::about(kind).name, times);
  }
  if (given.seeds == 1) {
    out += "  Drawn:";
    auto drawn = sum.drawn;
    std::stable_sort(drawn.begin(), drawn.end(),
                     [](const auto& a, const auto& b) { return a.at < b.at; });
    for (const rehearsal::Fault& fault : drawn) {
      out += " " + rehearsal::to_text(fault);
    }
    out += "\n  Tank: " + habits_of(sum.habits) + "\n";
  }
  out += exposures_of(sum.exposures);
  if (sum.broken.empty()) {
    return out + "  No promise was broken.\n";
  }
  for (const auto& [seed, promise] : sum.broken) {
    out += fmt::format(
        "  BROKEN PROMISE: {}; again: limegate rehearse {} --days {} --seed {} --seeds 1\n",
        promise, given.file, given.days, seed);
  }
  return out;
}

json json_of(const rehearsal::CampaignOutcome& sum, const std::string& station) {
  json faults = json::object();
  for (const auto& [kind, times] : sum.faults) {
    faults[rehearsal::about(kind).name] = times;
  }
  json broken = json::array();
  for (const auto& [seed, promise] : sum.broken) {
    broken.push_back({{"seed", seed}, {"promise", promise}});
  }
  return {{"station", station},
          {"courses", sum.courses},
          {"days", days_of(sum.lasted)},
          {"pulses", sum.pulses},
          {"restarts", sum.restarts},
          {"alerts", sum.alerts},
          {"ph_high", sum.ph_high},
          {"longest_silence_h", hours_of(sum.longest_silence)},
          {"exposures", exposures_json(sum.exposures)},
          {"faults", std::move(faults)},
          {"broken_promises", std::move(broken)}};
}

}  // namespace limegate::app
