#include "app/rehearsal_report.h"

#include <algorithm>
#include <chrono>
#include <vector>

#include <fmt/format.h>

#include "app/rehearsal_advice.h"
#include "app/rehearsal_words.h"
#include "app/rehearsed_messages.h"
#include "app/report_tables.h"
#include "report/chart.h"
#include "rules/for_people.h"

namespace limegate::app {
namespace {

using rehearsal::Fault;
using rehearsal::Outcome;
using rehearsal::Trace;
using report::Chart;
using report::Look;
using report::Section;

constexpr double kDay = 86400.0;
/// Of an axis of pH: less would make hills of a probe's noise.
constexpr double kLeastPh = 0.1;
/// A strip is no wider.
constexpr std::size_t kStripParts = 300;

double days_of(const Outcome& outcome) { return in_seconds(outcome.lasted) / kDay; }
double step_of(const Outcome& outcome) { return in_seconds(outcome.trace.step()); }

/// A value of each point of the course, in the middle of its time.
template <class Value>
std::vector<report::Step> steps(const Outcome& outcome, const Value& value) {
  std::vector<report::Step> all;
  all.reserve(outcome.trace.points().size());
  double at = step_of(outcome) / 2.0;
  for (const Trace::Point& point : outcome.trace.points()) {
    const double of_point = value(point);
    all.push_back({at, of_point, of_point, of_point});
    at += step_of(outcome);
  }
  return all;
}

Chart::Spans faults_on(const Outcome& outcome) {
  Chart::Spans spans{"goes wrong on purpose", {}};
  spans.spans.reserve(outcome.faults.size());
  for (const Fault& fault : outcome.faults) {
    spans.spans.push_back({in_seconds(fault.at), in_seconds(fault.at + fault.lasting)});
  }
  return spans;
}

Section summary(const Outcome& outcome, const config::Station& station) {
  const auto& points = outcome.trace.points();
  const double used = outcome.powder_g_start - outcome.powder_g_end;
  std::vector<std::pair<std::string, std::string>> rows{
      {"Planned", fmt::format("{:.0f} mL, counted {:.0f} mL", outcome.planned.count(),
                              outcome.counted.count())},
      {"Truly given",
       fmt::format("{:.0f} mL{} in {} pulses, with {} stirs", outcome.delivered.count(),
                   outcome.planned > Millilitres{}
                       ? fmt::format(", {:.0f} % of the plan,",
                                     100.0 * (outcome.delivered / outcome.planned))
                       : "",
                   outcome.pulses, outcome.stirs)},
      {"pH", fmt::format("lowest {:.2f}, highest {:.2f}, as a true probe shows it; worst rise "
                         "within 30 min {:.3f}",
                         outcome.ph_low, outcome.ph_high, outcome.rise_30min)},
      {"Alkalinity", fmt::format("{:.1f} to {:.1f} dKH", outcome.alkalinity_start.count(),
                                 outcome.alkalinity_end.count())}};
  if (!points.empty()) {
    rows.emplace_back("Calcium", fmt::format("{:.0f} to {:.0f} mg/L", points.front().calcium_mg_l,
                                             points.back().calcium_mg_l));
  }
  rows.emplace_back(
      "Powder", used > 0.0
                    ? fmt::format("{:.0f} of {:.0f} g used, {:.1f} g a day: lasts for {:.0f} more "
                                  "days",
                                  used, outcome.powder_g_start, used / days_of(outcome),
                                  std::max(0.0, outcome.powder_g_end) / used * days_of(outcome))
                    : "none was used");
  rows.emplace_back("Longest without limewater", rules::for_people(outcome.longest_silence));
  if (const std::size_t messages = count_messages(outcome); messages > 0) {
    rows.emplace_back("Messages", fmt::format("{}, if nobody had seen any", messages));
  }
  report::Table table;
  table.rows.reserve(rows.size());
  for (const auto& [name, words] : rows) {
    table.rows.push_back({report::text(name), report::text(words)});
  }
  const auto remarks = remarks_on(outcome);
  return {fmt::format("Station {}: {:.1f} days rehearsed", station.settings.name, days_of(outcome)),
          {report::table(table).xml + (remarks.empty() ? "" : report::list(remarks).xml)}};
}

Section went_wrong(const Outcome& outcome, const report::Axis& x) {
  report::Table table{
      {"at", "for", "what goes wrong", "when"}, {}, "Nothing goes wrong on purpose."};
  table.rows.reserve(outcome.faults.size());
  for (const Fault& fault : outcome.faults) {
    table.rows.push_back(
        {report::text(course_time(fault.at)),
         report::text(fault.lasting > Duration::zero() ? lasting_words(fault.lasting) : ""),
         report::text(fault_words(fault)),
         report::strip(x, {{in_seconds(fault.at), in_seconds(fault.at + fault.lasting)}},
                       rehearsal::about(fault.kind).name)});
  }
  return {"What goes wrong on purpose", report::table(table)};
}

Section limewater(const Outcome& outcome, const config::Station& station, const report::Axis& x) {
  Chart hourly{"Limewater, mL an hour", x};
  const double per_hour = 3600.0 / step_of(outcome);
  hourly.bands.push_back(
      {"least to most, and mean", Look::first,
       steps(outcome, [&](const Trace::Point& point) { return point.delivered_ml * per_hour; })});
  Chart in_all{"Limewater in all, mL", x};
  double given = 0.0;
  in_all.bands.push_back(
      {"truly given", Look::first,
       steps(outcome, [&](const Trace::Point& point) { return given += point.delivered_ml; })});
  const double end = in_seconds(outcome.lasted);
  in_all.lines.push_back(
      {"planned",
       Look::limit,
       {{0.0, 0.0}, {end, station.settings.plan.day_volume.count() * end / kDay}}});
  hourly.spans = in_all.spans = faults_on(outcome);
  return {"Given against the plan", {report::figure(hourly).xml + report::figure(in_all).xml}};
}

Section ph(const Outcome& outcome, const config::Station& station, const report::Axis& x) {
  Chart chart{"pH at the probe", x};
  chart.least_height = kLeastPh;
  Chart::Band water{"in the water", Look::first, {}};
  Chart::Band shown{"as the probe shows it", Look::second, {}};
  double at = step_of(outcome) / 2.0;
  for (const Trace::Point& point : outcome.trace.points()) {
    water.steps.push_back({at, point.ph_low, {}, point.ph_high});
    shown.steps.push_back({at, point.shown_low, {}, point.shown_high});
    at += step_of(outcome);
  }
  chart.bands = {std::move(water), std::move(shown)};
  chart.lines.push_back(report::level("ceiling", station.settings.limits.ceiling.count(), x));
  chart.spans = faults_on(outcome);
  return {"pH", report::figure(chart)};
}

Section water_and_powder(const Outcome& outcome, const report::Axis& x) {
  std::string figures;
  const auto add = [&](const char* title, double Trace::Point::*value, double least) {
    Chart chart{title, x};
    chart.least_height = least;
    chart.bands.push_back({"true", Look::first, steps(outcome, [&](const Trace::Point& point) {
                             return point.*value;
                           })});
    chart.spans = faults_on(outcome);
    figures += report::figure(chart).xml;
  };
  add("Alkalinity, dKH", &Trace::Point::alkalinity_dkh, 1.0);
  add("Calcium, mg/L", &Trace::Point::calcium_mg_l, 20.0);
  add("Powder in the reactor, g", &Trace::Point::powder_g, 10.0);
  return {"Alkalinity, calcium and powder", {std::move(figures)}};
}

/// What share of each part of the course something stood. `seconds_of` = of a point.
template <class Seconds>
std::vector<report::StripSpan> strip_of(const Outcome& outcome, const Seconds& seconds_of) {
  const auto& points = outcome.trace.points();
  const std::size_t each = (points.size() + kStripParts - 1) / kStripParts;
  const double length = step_of(outcome) * static_cast<double>(each);
  std::vector<report::StripSpan> spans;
  for (std::size_t first = 0; first < points.size(); first += each) {
    double stood = 0.0;
    for (std::size_t i = first; i < std::min(first + each, points.size()); ++i) {
      stood += seconds_of(points[i]);
    }
    const double from = static_cast<double>(first) * step_of(outcome);
    const double share = stood / length;
    if (!spans.empty() && spans.back().to == from && spans.back().share == share) {
      spans.back().to = from + length;
    } else if (share > 0.0) {
      spans.push_back({from, from + length, share});
    }
  }
  return spans;
}

Section holds(const Outcome& outcome, const report::Axis& x) {
  const auto& codes = outcome.trace.codes();
  std::vector<HeldRow> rows;
  rows.reserve(outcome.held.size());
  for (const auto& [code, lasting] : outcome.held) {
    const auto index =
        static_cast<std::size_t>(std::find(codes.begin(), codes.end(), code) - codes.begin());
    HeldRow row{code, lasting, {}};
    if (index < codes.size()) {
      row.when = strip_of(outcome, [&](const Trace::Point& point) {
        return static_cast<double>(point.held_s.at(index));
      });
    }
    rows.push_back(std::move(row));
  }
  return {"What held dosing back", holds_table(std::move(rows), x, "")};
}

Section beyond_command(const Outcome& outcome) {
  report::Table table{{"fault", "mL of limewater", "powder, g", "rise of pH", "until an alert",
                       "the most that it can be"},
                      {},
                      "Nothing flowed that was not commanded."};
  const auto worst = [](const rehearsal::Exposed::Measure& of, int decimals) {
    return report::text(fmt::format("{0:.{2}f} of {1:.{2}f}", of.worst, of.bound, decimals));
  };
  for (const auto& [kind, one] : outcome.exposures) {
    table.rows.push_back(
        {report::text(rehearsal::about(kind).about), worst(one.millilitres, 1),
         worst(one.powder_g, 2), worst(one.rise, 3),
         report::text(one.longest_until_alert ? rules::for_people(*one.longest_until_alert)
                                              : "none came"),
         report::text(rehearsal::bound_reason(kind))});
  }
  return {"Beyond what was commanded: at its worst, of the most that it can be",
          report::table(table)};
}

}  // namespace

void RehearsalReport::add(const config::Station& station, const Outcome& outcome) {
  const report::Axis x = report::course_axis(outcome.lasted);
  sections_.push_back(summary(outcome, station));
  if (!outcome.violations.empty()) {
    sections_.push_back({"BROKEN PROMISES", report::list(outcome.violations)});
  }
  sections_.push_back({"What to change", report::list(advice_on(outcome, station))});
  if (!outcome.faults.empty()) {
    sections_.push_back(went_wrong(outcome, x));
  }
  sections_.push_back(ph(outcome, station, x));
  sections_.push_back(limewater(outcome, station, x));
  sections_.push_back(water_and_powder(outcome, x));
  sections_.push_back(holds(outcome, x));
  sections_.push_back({"Alerts that would have come", alerts_of(outcome).markup()});
  if (!outcome.exposures.empty()) {
    sections_.push_back(beyond_command(outcome));
  }
}

report::Document RehearsalReport::document() const {
  return {fmt::format("Rehearsal of {}", config_),
          "A rehearsal is arithmetic, not your tank. Times are counted from its start.", sections_};
}

}  // namespace limegate::app
