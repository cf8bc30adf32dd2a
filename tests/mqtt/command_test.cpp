// What foreign clients may ask for from afar, and how a refusal looks.

#include <chrono>

#include <gmock/gmock.h>

#include "mqtt/rig.h"
#include "support/broker.h"

namespace limegate::test {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using ::testing::ElementsAre;
using ::testing::IsEmpty;

class CommandsFromAfar : public ::testing::Test {
 protected:
  void SetUp() override {
    broker_.start();
    rig_.emplace(Rig::settings(broker_.port()));
    ASSERT_TRUE(wait_until([&] {
      return broker_.kept("homie/5/limegate/$state")["homie/5/limegate/$state"] == "ready";
    }));
    heard_.emplace(broker_);
  }
  void set(const std::string& path, const std::string& payload,
           const std::vector<std::string>& more = {}) {
    broker_.publish("homie/5/" + path + "/set", payload, more);
  }
  [[nodiscard]] bool hears(const std::string& line) const {
    return wait_until([&] { return heard_->heard(line); });
  }

  Broker broker_;
  std::optional<Rig> rig_;
  std::optional<Subscriber> heard_;
};

TEST_F(CommandsFromAfar, PauseResumeAndTheDaysVolume) {
  set("limegate-reef/keeper/paused", "true");
  EXPECT_TRUE(hears("0 homie/5/limegate-reef/keeper/paused true"));
  set("limegate-reef/keeper/pause-minutes", "30");
  EXPECT_TRUE(hears("0 homie/5/limegate-reef/keeper/pause-minutes 30"));
  set("limegate-reef/keeper/pause-minutes", "0");
  EXPECT_TRUE(hears("0 homie/5/limegate-reef/keeper/paused false"));
  set("limegate-reef/plan/day-volume", "1500.5");
  EXPECT_TRUE(hears("0 homie/5/limegate-reef/plan/day-volume 1500.5"));
  EXPECT_THAT(rig_->commands(),
              ElementsAre("reef pause", "reef pause", "reef resume", "reef set-day-volume"));
}

TEST_F(CommandsFromAfar, AnAcknowledgementIsAnsweredAndNotKept) {
  set("limegate-frag/keeper/acknowledge", "ph-missing");
  EXPECT_TRUE(hears("0 homie/5/limegate-frag/keeper/acknowledge ph-missing"));
  set("limegate/keeper/acknowledge", "all");
  EXPECT_TRUE(hears("0 homie/5/limegate/keeper/acknowledge all"));
  EXPECT_THAT(rig_->commands(), ElementsAre("frag acknowledge", " acknowledge"));
  EXPECT_THAT(broker_.kept("homie/5/+/keeper/acknowledge"), IsEmpty());
}

TEST_F(CommandsFromAfar, EachRefusalIsSaidWithItsReasonAndTheValueStandsAgain) {
  const std::string topic = "limegate-reef/plan/day-volume";
  for (const char* payload : {"2000.1", "-1", "nan", "1,5"}) {
    set(topic, payload);
  }
  EXPECT_TRUE(hears("0 homie/5/" + topic + " 2000"));
  const std::string warned = "0 homie/5/limegate-reef/$log/warn By MQTT: plan/day-volume refused. ";
  EXPECT_TRUE(hears(warned + "'2000.1' is outside 0 to 2000 mL"));
  EXPECT_TRUE(hears(warned + "'-1' is outside"));
  EXPECT_TRUE(hears(warned + "'nan' is not a number"));
  EXPECT_TRUE(hears(warned + "'1,5' is not a number"));
  EXPECT_THAT(rig_->commands(), IsEmpty());
}

TEST_F(CommandsFromAfar, WhatCantBeSetIsRefused) {
  set("limegate-reef/gate/open", "true");
  set("limegate-reef/outlets/pump", "running");
  set("limegate-reef/plan/day-volume-at-station", "4000");
  set("limegate-reef/keeper/release", "ph-second-ceiling");
  set("limegate-reef/keeper/paused", "TRUE");
  set("limegate-nowhere/keeper/paused", "true");
  broker_.publish("homie/5/$broadcast/stop", "now");
  EXPECT_TRUE(wait_until([&] { return rig_->count_events("command-refused") == 5; }));
  EXPECT_THAT(rig_->commands(), IsEmpty());
}

TEST_F(CommandsFromAfar, IllegalBytesAndLongPayloadsDoNothing) {
  set("limegate-reef/keeper/acknowledge", "\xC3\x28");
  set("limegate-reef/keeper/acknowledge", std::string(300, 'a'));
  set("limegate-reef/keeper/paused", std::string(100'000, '1'));  // the broker keeps it back
  EXPECT_TRUE(wait_until([&] { return rig_->told("is not UTF-8") && rig_->told("1 too long"); }))
      << ::testing::PrintToString(rig_->events());
  EXPECT_THAT(rig_->commands(), IsEmpty());
}

TEST_F(CommandsFromAfar, ARetainedCommandDoesNothingNowAndNothingAfterAReconnect) {
  set("limegate-reef/keeper/paused", "true", {"-r"});
  EXPECT_TRUE(wait_until([&] { return rig_->told("1 published as retained"); }));
  rig_->stop();
  rig_.emplace(Rig::settings(broker_.port()));
  ASSERT_TRUE(wait_until([&] { return rig_->told("mqtt-connected"); }));
  set("limegate-reef/keeper/pause-minutes", "7");
  ASSERT_TRUE(wait_until([&] { return !rig_->commands().empty(); }));
  EXPECT_THAT(rig_->commands(), ElementsAre("reef pause")) << "only the live one";
}

}  // namespace
}  // namespace limegate::test
