// The one sentence that a person who looks for seconds goes by.

#include "alerts/verdict.h"

#include <algorithm>
#include <chrono>
#include <string>

#include <gtest/gtest.h>

#include "alerts/kind.h"

namespace limegate::alerts {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using Standing = Verdict::Standing;

station::Status dosing() {
  station::Status status;
  status.station = "reef";
  status.gate_open = true;
  status.pulse_volume = Millilitres{14.0};
  status.next_pulse_in = 12min;
  return status;
}

station::Alert alert(const std::string& id, const std::string& sentence,
                     const std::string& state = "unacknowledged") {
  station::Alert alert;
  alert.id = id;
  alert.sentence = sentence;
  alert.action = "Do it.";
  alert.state = state;
  return alert;
}

TEST(Verdicts, a_dosing_station_is_well_and_says_what_comes) {
  station::Status status = dosing();
  const Verdict verdict = verdict_of(status);
  EXPECT_EQ(verdict.standing, Standing::well);
  EXPECT_EQ(verdict.sentence, "All is well: 14.0 mL come in 12 min.");
  EXPECT_EQ(verdict.action, "");
  status.next_pulse_in.reset();
  EXPECT_EQ(verdict_of(status).sentence,
            "All is well: the next pulse comes after the next stir has settled.");
  status.pulse_volume = Millilitres{0.0};
  EXPECT_EQ(verdict_of(status).sentence, "Nothing is dosed: the day's volume is set to 0 mL.");
  status.day_volume = Millilitres{720.0};
  EXPECT_EQ(verdict_of(status).sentence, "All is well: nothing more is planned.");
  status.pump = station::PumpDuty::Phase::running;
  status.pulse_volume = Millilitres{14.0};
  EXPECT_EQ(verdict_of(status).sentence, "Dosing: 14.0 mL flow now.");
}

TEST(Verdicts, what_holds_is_named_with_how_much_more_there_is) {
  station::Status status = dosing();
  status.gate_open = false;
  status.holds = {{"settling", "It settles.", rules::Clears::by_itself, WallTime{}}};
  EXPECT_EQ(verdict_of(status).standing, Standing::held);
  EXPECT_EQ(verdict_of(status).sentence, "Dosing waits: It settles.");
  status.holds.push_back({"ph-stale", "No pH.", rules::Clears::by_itself, WallTime{}});
  EXPECT_EQ(verdict_of(status).sentence, "Dosing waits: It settles. (1 more.)");
}

TEST(Verdicts, a_pause_comes_before_what_else_holds) {
  station::Status status = dosing();
  status.pause_remaining = 90min;
  status.holds = {{"paused", "It is paused.", rules::Clears::by_itself, WallTime{}}};
  EXPECT_EQ(verdict_of(status).standing, Standing::paused);
  EXPECT_EQ(verdict_of(status).sentence, "Paused: dosing goes on in 90 min.");
  status.holds = {{"paused", "Paused by the keeper.", rules::Clears::by_itself, WallTime{}},
                  {"settling", "It settles.", rules::Clears::by_itself, WallTime{}}};
  EXPECT_EQ(verdict_of(status).sentence,
            "Paused for another 90 min. Dosing waits also: It settles.");
}

TEST(Verdicts, the_most_urgent_alert_that_stands_comes_first) {
  station::Status status = dosing();
  status.pause_remaining = 1h;
  status.alerts = {alert("ph-stale", "No pH.")};
  ASSERT_EQ(kind_of("ph-stale").urgency, Urgency::act_today);
  EXPECT_EQ(verdict_of(status).standing, Standing::needs_a_person);
  EXPECT_EQ(verdict_of(status).sentence, "No pH.");
  EXPECT_EQ(verdict_of(status).action, "Do it.");
  status.alerts.push_back(alert("pump-stuck-on", "It flows."));
  ASSERT_EQ(kind_of("pump-stuck-on").urgency, Urgency::act_now);
  EXPECT_EQ(verdict_of(status).sentence, "It flows.");
  status.alerts.back().state = "acknowledged";
  EXPECT_EQ(verdict_of(status).sentence, "It flows.") << "it flows also when somebody knows";
  status.alerts.back().state = "returned-unacknowledged";
  EXPECT_EQ(verdict_of(status).sentence, "No pH.");
  status.alerts.front().state = "returned-unacknowledged";
  EXPECT_EQ(verdict_of(status).standing, Standing::paused);
}

TEST(Verdicts, what_can_wait_for_days_changes_none) {
  station::Status status = dosing();
  const auto& all = kinds();
  const auto calm = std::find_if(all.begin(), all.end(), [](const Kind& kind) {
    return kind.urgency == Urgency::when_you_can && kind.id.find('*') == std::string_view::npos;
  });
  ASSERT_NE(calm, all.end());
  status.alerts = {alert(std::string{calm->id}, "Some day.")};
  EXPECT_EQ(verdict_of(status).standing, Standing::well);
}

}  // namespace
}  // namespace limegate::alerts
