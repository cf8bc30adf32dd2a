// What is dropped before anything is made of it, and how it is told.

#include "mqtt/inbox.h"

#include <chrono>

#include <gmock/gmock.h>

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

TEST(Dropped, IsToldAndStandsAmongRefusals) {
  Inbox::Dropped dropped;
  dropped.retained = 1;
  dropped.too_many = 6990;
  const station::Event told = told_of(dropped, WallTime{1h});
  EXPECT_EQ(told.severity, station::Severity::warning);
  EXPECT_EQ(told.sentence,
            "MQTT: commands were dropped unread: 6990 beyond two a second, 1 published as "
            "retained, so of any age.");
  ASSERT_TRUE(told.refusal) << "an automation that retains its commands finds out why";
  EXPECT_EQ(told.refusal->by, "MQTT");
  EXPECT_EQ(told.refusal->at, WallTime{1h});
  EXPECT_EQ(told.refusal->why,
            "They were 6990 beyond two a second, 1 published as retained, so of any age. Publish a "
            "command to its own topic, not retained, and no more than two a second.");
}

}  // namespace
}  // namespace limegate::mqtt
