// What is dropped before anything is made of it, and how it is told.

#include "mqtt/inbox.h"

#include <chrono>

#include <gmock/gmock.h>

#include "mqtt/dropped_report.h"
#include "mqtt/refusals.h"

namespace limegate::mqtt {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

const Instant kStart{1h};
constexpr const char* kPause = "homie/5/dev-reef/keeper/paused/set";

class Inboxes : public ::testing::Test {
 protected:
  bool offer(const std::string& topic, const std::string& payload = "true", bool retained = false,
             Instant now = kStart) {
    return inbox_.offer(topic, payload, retained, now);
  }
  Inbox inbox_{"homie/5", {"dev-reef", "dev"}};
};

TEST_F(Inboxes, TakeACommandAndWakeTheLoopOnce) {
  EXPECT_TRUE(offer(kPause));
  EXPECT_FALSE(offer(kPause)) << "the loop is on its way";
  const auto taken = inbox_.take();
  ASSERT_EQ(taken.commands.size(), 2U);
  EXPECT_EQ(taken.commands[0].device, 0U);
  EXPECT_EQ(taken.commands[0].topic.node, "keeper");
  EXPECT_EQ(taken.commands[0].topic.property, "paused");
  EXPECT_TRUE(offer(kPause)) << "the next one";
}

TEST_F(Inboxes, DropWhatIsRetainedTooLongOrNotOurs) {
  EXPECT_FALSE(offer(kPause, "true", true));
  EXPECT_FALSE(offer(kPause, std::string(257, 'x')));
  for (const char* topic :
       {"homie/5/dev-nowhere/keeper/paused/set", "homie/4/dev/keeper/paused/set",
        "homie/5/dev-reef/keeper/paused", "homie/5/dev-reef/set", "homie/5/dev-reef/a/b/c/set",
        "homie/5", "", "homie/5/dev-reef", "homie/5/dev-reef/k\xff/paused/set",
        "homie/5/dev-reef/keeper/\npaused/set", "homie/5/dev-reef/keeper//set"}) {
    EXPECT_FALSE(offer(topic)) << topic;
  }
  const auto taken = inbox_.take();
  EXPECT_THAT(taken.commands, ::testing::IsEmpty());
  EXPECT_EQ(taken.dropped.retained, 1U);
  EXPECT_EQ(taken.dropped.oversized, 1U);
  EXPECT_EQ(taken.dropped.not_ours, 11U);
}

TEST_F(Inboxes, AdmitTwentyAtOnceAndThenTwoASecond) {
  for (int i = 0; i < 1000; ++i) {
    (void)offer(kPause);
  }
  EXPECT_EQ(inbox_.take().commands.size(), 20U);
  for (int i = 0; i < 1000; ++i) {
    (void)offer(kPause, "true", false, kStart + 10s);
  }
  const auto later = inbox_.take();
  EXPECT_EQ(later.commands.size(), 20U);
  EXPECT_EQ(later.dropped.too_many, 980U);
}

Moment at(Duration after) { return {kStart + after, WallTime{1h} + after}; }

TEST(DroppedReports, TellOfAFloodInThreeLines) {
  DroppedReport report;
  EXPECT_FALSE(report.take({}, at(0s)));
  Inbox::Dropped some;
  some.too_many = 10;
  const auto begun = report.take(some, at(1s));
  ASSERT_TRUE(begun);
  EXPECT_EQ(begun->severity, station::Severity::warning);
  int told = 0;
  for (int second = 2; second < 700; ++second) {
    told += report.take(some, at(std::chrono::seconds{second})).has_value() ? 1 : 0;
  }
  EXPECT_EQ(told, 1) << "a count after ten minutes";
  EXPECT_FALSE(report.take({}, at(700s)));
  const auto over = report.take({}, at(760s));
  ASSERT_TRUE(over);
  EXPECT_EQ(over->severity, station::Severity::info);
  EXPECT_THAT(over->sentence, ::testing::HasSubstr("6990 beyond two a second"));
  EXPECT_FALSE(report.take({}, at(900s)));
}

TEST(RefusalsTold, TheFirstAndThenOneInTenMinutes) {
  Refusals refusals;
  EXPECT_EQ(refusals.take("a", kStart), 0U);
  EXPECT_EQ(refusals.take("a", kStart + 1s), std::nullopt);
  EXPECT_EQ(refusals.take("b", kStart + 1s), 0U) << "another kind";
  EXPECT_EQ(refusals.take("a", kStart + 10min - 1ns), std::nullopt);
  EXPECT_EQ(refusals.take("a", kStart + 10min), 2U);
}

TEST(RefusalsTold, ManyKindsAreToldAsOne) {
  Refusals refusals;
  int told = 0;
  for (int i = 0; i < 1000; ++i) {
    told += refusals.take(std::to_string(i), kStart).has_value() ? 1 : 0;
  }
  EXPECT_EQ(told, 64);
}

}  // namespace
}  // namespace limegate::mqtt
