#include "station/alerts.h"

#include <chrono>

#include <gtest/gtest.h>

#include "station/command.h"

namespace limegate::station {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

const WallTime kNow{1'800'000'000s};

Event alert(const std::string& code, const std::string& sentence, const std::string& begins = {}) {
  return {kNow, Severity::alert, code, sentence, begins};
}
Event over(const std::string& id) { return {kNow, Severity::info, "cleared", "Over.", {}, id}; }

TEST(Alerts, of_a_moment_stand_until_a_person_has_seen_them) {
  Alerts alerts;
  alerts.take(alert("ledger", "It was damaged."));
  ASSERT_EQ(alerts.standing().size(), 1U);
  EXPECT_EQ(alerts.standing()[0].id, "ledger");
  EXPECT_EQ(alerts.standing()[0].until, Alert::Until::seen);
  EXPECT_TRUE(alerts.acknowledge("ledger"));
  EXPECT_TRUE(alerts.standing().empty());
}

TEST(Alerts, with_a_cause_stand_though_seen_until_it_is_over) {
  Alerts alerts;
  alerts.take(alert("held-ph-second-ceiling", "pH 8.61.", "ph-second-ceiling"));
  EXPECT_TRUE(alerts.acknowledge("ph-second-ceiling"));
  ASSERT_EQ(alerts.standing().size(), 1U);
  EXPECT_EQ(alerts.standing()[0].seen, Alert::Seen::yes);
  alerts.take(over("ph-second-ceiling"));
  EXPECT_TRUE(alerts.standing().empty());
}

TEST(Alerts, that_come_again_are_unseen_and_say_the_new_sentence) {
  Alerts alerts;
  alerts.take(alert("dosing-stopped", "6 h.", "dosing-stopped"));
  EXPECT_TRUE(alerts.acknowledge("dosing-stopped"));
  alerts.take(alert("dosing-stopped", "12 h.", "dosing-stopped"));
  ASSERT_EQ(alerts.standing().size(), 1U);
  EXPECT_EQ(alerts.standing()[0].seen, Alert::Seen::no);
  EXPECT_EQ(alerts.standing()[0].sentence, "12 h.");
}

TEST(Alerts, are_not_begun_by_other_events_nor_ended_by_other_ids) {
  Alerts alerts;
  alerts.take({kNow, Severity::warning, "probe-fault", "It does not answer."});
  EXPECT_TRUE(alerts.standing().empty());
  alerts.take(alert("held-x", "X.", "x"));
  alerts.take(over("y"));
  alerts.take({kNow, Severity::info, "x", "No end."});
  EXPECT_EQ(alerts.standing().size(), 1U);
  EXPECT_FALSE(alerts.acknowledge("y"));
}

TEST(Alerts, are_acknowledged_all_at_once) {
  Alerts alerts;
  alerts.take(alert("ledger", "A."));
  alerts.take(alert("held-x", "X.", "x"));
  EXPECT_EQ(alerts.acknowledge_all(), 2U);
  ASSERT_EQ(alerts.standing().size(), 1U);
  EXPECT_EQ(alerts.standing()[0].id, "x");
  EXPECT_EQ(alerts.acknowledge_all(), 0U);
}

TEST(Command, comes_from_afar_only_if_it_holds_back) {
  for (const Command& command :
       {Command{Pause{}}, Command{Resume{}}, Command{Acknowledge{}}, Command{SetDayVolume{}}}) {
    EXPECT_TRUE(permits(Origin::afar, command)) << name_of(command);
    EXPECT_TRUE(permits(Origin::station, command)) << name_of(command);
  }
  for (const Command& command : {Command{Release{}}, Command{StirNow{}}, Command{RunAttended{}}}) {
    EXPECT_FALSE(permits(Origin::afar, command)) << name_of(command);
    EXPECT_TRUE(permits(Origin::station, command)) << name_of(command);
  }
}

}  // namespace
}  // namespace limegate::station
