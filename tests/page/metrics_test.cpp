// Metrics, against the reference library's parsers (python3-prometheus-client, OpenMetrics 1.0).

#include "page/metrics.h"

#include <chrono>
#include <limits>
#include <string>

#include <gmock/gmock.h>

#include "support/places.h"
#include "support/program.h"

namespace limegate::page {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using testing::HasSubstr;
using testing::Not;

station::Status dosing(const std::string& name) {
  station::Status status;
  status.station = name;
  status.ph.value = 8.21;
  status.temperature.value = 25.5;
  status.ph.quality = status.temperature.quality = signal::Quality::good;
  status.gate_open = true;
  status.given_in_all = Millilitres{12345.6};
  status.given_day = Millilitres{500.0};
  status.day_limit = Millilitres{2083.0};
  status.next_pulse_in = 90s;
  return status;
}

station::Overview held_and_dosing() {
  station::Overview overview;
  overview.started = WallTime{1h};
  overview.stations = {dosing("reef"), dosing("nano")};
  station::Status& nano = overview.stations.back();
  nano.gate_open = false;
  nano.ph.quality = signal::Quality::bad;
  nano.given_in_all.reset();
  nano.given_day = kCountsAsFull;
  nano.holds = {{"ph-stale", "No pH.", rules::Clears::by_itself, WallTime{}}};
  station::Alert alert;
  alert.id = "ph-stale";
  alert.number = "1";
  alert.urgency = "act-today";
  alert.state = "unacknowledged";
  nano.alerts = {alert};
  return overview;
}

/// What the parser prints: "name{labels} value" for each sample, sorted labels; or its complaint.
std::string parsed_by_the_reference(const std::string& module, const std::string& text) {
  const test::TempDir folder;
  test::write_file(folder.path() + "/text", text);
  const std::string script =
      "import sys\nfrom " + module +
      " import text_string_to_metric_families as parse\n"
      "for family in parse(open(sys.argv[1]).read()):\n"
      "  for s in family.samples:\n"
      "    print(family.type, s.name, sorted(s.labels.items()), float(s.value))\n";
  return test::run_program({"/usr/bin/python3", "-c", script, folder.path() + "/text"}).output;
}

TEST(Metrics, are_open_metrics_to_the_reference_parser) {
  const std::string text = metrics_of(held_and_dosing(), nullptr, MetricsForm::open_metrics);
  const std::string parsed = parsed_by_the_reference("prometheus_client.openmetrics.parser", text);
  EXPECT_THAT(parsed, Not(HasSubstr("Error"))) << text;
  EXPECT_THAT(parsed, HasSubstr("gauge limegate_ph [('station', 'reef')] 8.21\n"));
  EXPECT_THAT(parsed,
              HasSubstr("counter limegate_given_liters_total [('station', 'reef')] 12.3456\n"));
  EXPECT_THAT(parsed, HasSubstr("gauge limegate_hold [('code', 'ph-stale'), ('station', 'nano')] "
                                "1.0\n"));
  EXPECT_THAT(parsed, HasSubstr("('urgency', 'act-today')] 1.0\n"));
  EXPECT_THAT(parsed, HasSubstr("gauge limegate_needs_a_person [('station', 'nano')] 1.0\n"));
  EXPECT_THAT(parsed, HasSubstr("gauge limegate_start_time_seconds [] 3600.0\n"));
  EXPECT_THAT(text, testing::EndsWith("# EOF\n"));
}

TEST(Metrics, are_text_0_0_4_to_the_reference_parser) {
  const std::string text = metrics_of(held_and_dosing(), nullptr, MetricsForm::plain);
  const std::string parsed = parsed_by_the_reference("prometheus_client.parser", text);
  EXPECT_THAT(parsed, Not(HasSubstr("Error"))) << text;
  EXPECT_THAT(parsed,
              HasSubstr("counter limegate_given_liters_total [('station', 'reef')] 12.3456\n"));
  EXPECT_THAT(text, Not(HasSubstr("# UNIT")));
  EXPECT_THAT(text, Not(HasSubstr("# EOF")));
}

TEST(Metrics, have_no_sample_for_what_is_not_known) {
  const std::string text = metrics_of(held_and_dosing(), nullptr, MetricsForm::open_metrics);
  for (const char* name :
       {"limegate_ph", "limegate_given_liters_total", "limegate_counted_day_liters"}) {
    EXPECT_THAT(text, HasSubstr(std::string{name} + "{station=\"reef\"}"));
    EXPECT_THAT(text, Not(HasSubstr(std::string{name} + "{station=\"nano\"}")));
  }
  station::Overview absurd = held_and_dosing();
  absurd.stations[0].ph.value = std::numeric_limits<double>::quiet_NaN();
  EXPECT_THAT(metrics_of(absurd, nullptr, MetricsForm::plain), Not(HasSubstr("limegate_ph{")));
}

TEST(Metrics, are_of_the_form_that_accept_asks_for) {
  EXPECT_EQ(form_of("application/openmetrics-text;version=1.0.0,text/plain;q=0.5"),
            MetricsForm::open_metrics);
  EXPECT_EQ(form_of("text/plain"), MetricsForm::plain);
  EXPECT_EQ(form_of(""), MetricsForm::plain);
}

TEST(Metrics, quote_what_would_end_a_label) {
  station::Overview overview = held_and_dosing();
  overview.stations[0].station = "a\"b\\c\nd";
  EXPECT_THAT(parsed_by_the_reference("prometheus_client.openmetrics.parser",
                                      metrics_of(overview, nullptr, MetricsForm::open_metrics)),
              HasSubstr("[('station', 'a\"b\\\\c\\nd')] 8.21\n"));
}

journal::Counts counted() {
  journal::Counts counts;
  counts.since = WallTime{2h};
  counts.stations = {{"reef", WallTime{1h}}};
  counts.all = {{"reef", "pulse-given", "", 96},     {"reef", "pulse-cut-short", "", 2},
                {"reef", "held-settling", "", 12},   {"reef", "probe-fault", "panel", 3},
                {"nano", "probe-fault", "panel", 1}, {"", "started", "", 4}};
  return counts;
}

TEST(Metrics, count_what_was_told_and_say_since_when) {
  const auto counts = counted();
  const std::string parsed =
      parsed_by_the_reference("prometheus_client.openmetrics.parser",
                              metrics_of(held_and_dosing(), &counts, MetricsForm::open_metrics));
  for (const char* line : {
           "counter limegate_pulses_total [('outcome', 'given'), ('station', 'reef')] 96.0\n",
           "counter limegate_pulses_total [('outcome', 'cut-short'), ('station', 'reef')] 2.0\n",
           "counter limegate_pulses_created [('outcome', 'given'), ('station', 'reef')] 7200.0\n",
           "counter limegate_holds_total [('code', 'settling'), ('station', 'reef')] 12.0\n",
           "counter limegate_bus_faults_total [('bus', 'panel'), ('station', 'reef')] 3.0\n",
           "counter limegate_bus_faults_total [('bus', 'panel'), ('station', 'nano')] 1.0\n",
           "counter limegate_events_total [('code', 'started'), ('station', '')] 4.0\n",
           "counter limegate_given_liters_created [('station', 'reef')] 3600.0\n",
           "info limegate_info [('version', '",
       }) {
    EXPECT_THAT(parsed, HasSubstr(line));
  }
  const std::string plain = metrics_of(held_and_dosing(), &counts, MetricsForm::plain);
  EXPECT_THAT(plain, Not(HasSubstr("_created")));
  EXPECT_THAT(parsed_by_the_reference("prometheus_client.parser", plain),
              HasSubstr("counter limegate_pulses_total [('outcome', 'given'), ('station', 'reef')] "
                        "96.0\n"));
}

TEST(Metrics, have_no_counter_where_the_record_cannot_be_read) {
  EXPECT_THAT(metrics_of(held_and_dosing(), nullptr, MetricsForm::open_metrics),
              Not(HasSubstr("limegate_pulses")));
}

}  // namespace
}  // namespace limegate::page
