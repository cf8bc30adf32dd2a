#include "app/station_report.h"

#include <algorithm>
#include <chrono>
#include <map>
#include <utility>

#include <fmt/chrono.h>
#include <fmt/format.h>

#include "alerts/kind.h"
#include "app/advice_sentences.h"
#include "app/report_tables.h"
#include "report/chart.h"
#include "rules/for_people.h"

namespace limegate::app {
namespace {

using journal::Course;
using journal::Happenings;
using report::Chart;
using report::Look;
using report::Section;

constexpr Duration kDay = std::chrono::hours{24};
/// Of an axis of pH: less would make hills of a probe's noise.
constexpr double kLeastPh = 0.1;

double seconds(WallTime at) { return in_seconds(at.time_since_epoch()); }

std::string when(WallTime at) {
  return fmt::format("{:%b %d, %H:%M}", std::chrono::floor<std::chrono::seconds>(at));
}

/// What was planned of a span: nothing before the station was.
Millilitres planned_in(const StationRecord& record, Millilitres day_volume, WallTime from,
                       WallTime to) {
  const WallTime since = record.days.station_since.value_or(record.until);
  const Duration within = std::min(to, record.until) - std::max(from, since);
  return day_volume * (in_seconds(std::max(within, Duration::zero())) / in_seconds(kDay));
}

/// What the whole record comes to.
struct Sums {
  Millilitres day_volume, planned, given;
  std::optional<double> ph_low, ph_mean, ph_high;
  std::optional<double> temperature_low, temperature_high;  ///< of means
  Duration without_ph{};
  std::map<std::string, Duration> held;
};

template <class Pick>
void take(std::optional<double>& kept, const std::optional<double>& value, const Pick& pick) {
  if (value) {
    kept = pick(kept.value_or(*value), *value);
  }
}

Duration lasted(const Happenings::Held& one, const StationRecord& record) {
  return std::max(
      std::min(one.until.value_or(record.until), record.until) - std::max(one.since, record.from),
      Duration::zero());
}

Sums sums_of(const StationRecord& record, const config::Station& station) {
  Sums sums;
  sums.day_volume = record.standing && record.standing->day_volume
                        ? *record.standing->day_volume
                        : station.settings.plan.day_volume;
  WallTime day = record.days.from;
  for (const Course::Step& step : record.days.steps) {
    sums.given = sums.given + Millilitres{step.given.value_or(0.0)};
    sums.planned = sums.planned + planned_in(record, sums.day_volume, day, day + record.days.step);
    day += record.days.step;
  }
  const auto lower = [](double a, double b) { return std::min(a, b); };
  const auto higher = [](double a, double b) { return std::max(a, b); };
  double sum = 0.0;
  int known = 0;
  for (const Course::Step& step : record.course.steps) {
    take(sums.ph_low, step.ph_low, lower);
    take(sums.ph_high, step.ph_high, higher);
    // Of an older version's means nobody knows the lowest and the highest.
    take(sums.temperature_low, step.temperature_low ? step.temperature_low : step.temperature,
         lower);
    take(sums.temperature_high, step.temperature_high ? step.temperature_high : step.temperature,
         higher);
    sum += step.ph_mean.value_or(0.0);
    known += step.ph_mean ? 1 : 0;
    sums.without_ph += step.ph_mean ? Duration::zero() : Duration{record.course.step};
  }
  if (known > 0) {
    sums.ph_mean = sum / known;
  }
  for (const Happenings::Held& one : record.holds) {
    sums.held[one.code] += lasted(one, record);
  }
  return sums;
}

std::string given_words(const StationRecord& record, const Sums& sums) {
  if (!record.days.station_since) {
    return "Unknown: the ledger can't be read.";
  }
  const std::string share =
      sums.planned > Millilitres{}
          ? fmt::format(", {:.0f} % of the plan", 100.0 * (sums.given / sums.planned))
          : "";
  return fmt::format("{:.0f} mL{}", sums.given.count(), share);
}

std::string ph_words(const Sums& sums) {
  return sums.ph_mean ? fmt::format("lowest {:.2f}, mean {:.2f}, highest {:.2f}", *sums.ph_low,
                                    *sums.ph_mean, *sums.ph_high)
                      : "Nothing was written down.";
}

Section summary(const StationRecord& record, const config::Station& station, const Sums& sums) {
  const auto& limits = station.settings.limits;
  std::vector<std::pair<std::string, std::string>> rows{
      {"Planned", fmt::format("{:.0f} mL, at {:.0f} mL a day as it is set now",
                              sums.planned.count(), sums.day_volume.count())},
      {"Given", given_words(record, sums)},
      {"pH", fmt::format("{}; ceiling {:.2f}", ph_words(sums), limits.ceiling.count())}};
  // A step or two without a row is the record's own pace, or a restart.
  if (sums.without_ph > 2 * Duration{record.course.step}) {
    rows.emplace_back("Without pH", fmt::format("{}: no good reading was written down",
                                                hours_text(sums.without_ph)));
  }
  if (sums.temperature_low) {
    rows.emplace_back("Temperature", fmt::format("{:.1f} to {:.1f} °C", *sums.temperature_low,
                                                 *sums.temperature_high));
  }
  report::Table table;
  table.rows.reserve(rows.size());
  for (const auto& [name, words] : rows) {
    table.rows.push_back({report::text(name), report::text(words)});
  }
  return {"In short", report::table(table)};
}

Section given(const StationRecord& record, const Sums& sums, const report::Axis& x) {
  Chart chart{"Limewater, mL a day", x};
  chart.bars = Chart::Bars{"given", {}};
  Chart::Line plan{"planned", Look::limit, {}};
  WallTime day = record.days.from;
  for (const Course::Step& step : record.days.steps) {
    const WallTime end = day + record.days.step;
    if (step.given) {
      chart.bars->bars.push_back({seconds(day) + 3600.0, seconds(end) - 3600.0, *step.given});
      const double planned = planned_in(record, sums.day_volume, day, end).count();
      plan.points.push_back({seconds(day), planned});
      plan.points.push_back({seconds(end), planned});
    }
    day = end;
  }
  if (chart.bars->bars.empty()) {
    return {"Given against the plan", report::paragraph("What was given is unknown.")};
  }
  chart.lines.push_back(std::move(plan));
  return {"Given against the plan", report::figure(chart)};
}

std::vector<report::Step> steps_of(const Course& course) {
  std::vector<report::Step> steps;
  steps.reserve(course.steps.size());
  double middle = seconds(course.from) + in_seconds(course.step) / 2.0;
  for (const Course::Step& step : course.steps) {
    steps.push_back({middle, step.ph_low, step.ph_mean, step.ph_high});
    middle += in_seconds(course.step);
  }
  return steps;
}

Section ph(const StationRecord& record, const config::Station& station, const report::Axis& x) {
  const double ceiling = station.settings.limits.ceiling.count();
  Chart all{"pH, as the probe shows it", x};
  all.least_height = kLeastPh;
  all.bands.push_back({"lowest to highest, and mean", Look::first, steps_of(record.course)});
  all.lines.push_back(report::level("ceiling", ceiling, x));
  Chart day{"pH by the time of day", report::day_axis()};
  day.least_height = kLeastPh;
  Chart::Band was{"lowest to highest, and mean", Look::first, {}};
  Chart::Line usual{"its usual course without doses, as it was learned", Look::second, {}};
  bool learned = false;
  for (std::size_t i = 0; i < record.day_of_ph.was.size(); ++i) {
    const Course::Step& step = record.day_of_ph.was.at(i);
    const double middle = static_cast<double>(i) * 900.0 + 450.0;
    was.steps.push_back({middle, step.ph_low, step.ph_mean, step.ph_high});
    usual.points.push_back({middle, record.day_of_ph.usual.at(i)});
    learned = learned || record.day_of_ph.usual.at(i).has_value();
  }
  day.bands.push_back(std::move(was));
  if (learned) {
    day.lines.push_back(std::move(usual));
  }
  std::string body = report::figure(all).xml + report::figure(day).xml;
  if (!learned) {
    body += report::paragraph("No usual course is learned yet.").xml;
  }
  return {"pH against its usual course", {std::move(body)}};
}

Section holds(const StationRecord& record, const Sums& sums, const report::Axis& x) {
  struct Told {
    std::size_t times = 0;
    Duration longest{};
    const Happenings::Held* last = nullptr;
    std::vector<report::StripSpan> when;
  };
  std::map<std::string, Told> by_code;
  for (const Happenings::Held& one : record.holds) {
    Told& told = by_code[one.code];
    ++told.times;
    told.longest = std::max(told.longest, lasted(one, record));
    told.last = &one;
    told.when.push_back({seconds(one.since), seconds(one.until.value_or(record.until))});
  }
  std::vector<HeldRow> rows;
  rows.reserve(by_code.size());
  for (auto& [code, told] : by_code) {
    rows.push_back(
        {code, sums.held.at(code), std::move(told.when),
         fmt::format("{}, {}{}. {}", told.times == 1 ? "once" : fmt::format("{} times", told.times),
                     told.times == 1 ? "" : "at the longest ", rules::for_people(told.longest),
                     told.last->sentence)});
  }
  return {"What held dosing back", holds_table(std::move(rows), x, "how often, and the last")};
}

Section alerts(const StationRecord& record) {
  AlertTable table;
  for (const Happenings::Told& one : record.alerts) {
    table.add(one.code, one.sentence, when(one.at));
  }
  return {"Alerts", table.markup()};
}

Section advice(const StationRecord& record, const config::Station& station, const Sums& sums) {
  std::vector<std::string> sentences;
  if (!record.standing) {
    sentences.emplace_back(
        "The ledger can't be read, so neither what was given nor what stands is known: read as the "
        "daemon's user or root, or look after the state directory and its disk.");
  } else {
    for (const alerts::Record& standing : record.standing->alerts) {
      sentences.push_back(fmt::format("Since {}: {} {}", when(standing.raised.wall),
                                      standing.sentence, alerts::kind_of(standing.id).action));
    }
  }
  if (record.days.station_since) {
    sentences.push_back(advice_on_volume(sums.given, sums.planned, sums.held));
  }
  const Ph ceiling = station.settings.limits.ceiling;
  if (sums.ph_high && *sums.ph_high > ceiling.count()) {
    sentences.push_back(advice_on_ceiling(ceiling));
  }
  std::erase(sentences, std::string{});
  if (sentences.empty()) {
    sentences.emplace_back("Nothing.");
  }
  return {"What to change", report::list(sentences)};
}

}  // namespace

report::Document report_of(const StationRecord& record, const config::Station& station) {
  const Sums sums = sums_of(record, station);
  const report::Axis x = report::clock_axis(record.from, record.until);
  const auto day = [](WallTime at) {
    return fmt::format("{:%Y-%m-%d %H:%M}", std::chrono::floor<std::chrono::seconds>(at));
  };
  return {
      fmt::format("Station {}: the last {} {}", station.settings.name, record.days.steps.size(),
                  record.days.steps.size() == 1 ? "day" : "days"),
      fmt::format("From {} to {}, UTC, as all times here.", day(record.from), day(record.until)),
      {summary(record, station, sums), advice(record, station, sums), given(record, sums, x),
       ph(record, station, x), holds(record, sums, x), alerts(record)}};
}

}  // namespace limegate::app
