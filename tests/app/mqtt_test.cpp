// The built daemon with a real broker: what stands there after each kind of end.

#include <chrono>
#include <csignal>
#include <cstdio>
#include <optional>

#include <gmock/gmock.h>

#include "support/broker.h"
#include "support/places.h"
#include "support/program.h"

namespace limegate::test {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

constexpr const char* kRoot = "homie/5/limegate/$state";

class DaemonOnMqtt : public ::testing::Test {
 protected:
  /// A simulated station, so many times as fast as life.
  void start(int port, int acceleration, const std::string& more = "") {
    std::string text = read_file(source_dir() + "/config/examples/simulated.toml");
    const auto replace = [&](const std::string& what, const std::string& by) {
      const std::size_t found = text.find(what);
      ASSERT_NE(found, std::string::npos) << what;
      text.replace(found, what.size(), by);
    };
    replace("state_dir = \"limegate-simulated\"", "state_dir = \"" + folder_.path() + "/state\"");
    replace("acceleration = 120", "acceleration = " + std::to_string(acceleration));
    text += "\n[mqtt]\nbroker = \"mqtt://127.0.0.1:" + std::to_string(port) + "\"\n" + more;
    write_file(folder_.path() + "/config.toml", text);
    ASSERT_EQ(run_program({limegate_path(), "prepare", folder_.path() + "/config.toml"}).code, 0);
    daemon_.emplace(
        std::vector<std::string>{limegate_path(), "run", folder_.path() + "/config.toml"},
        folder_.path() + "/log");
  }
  [[nodiscard]] std::string log() const { return read_file(folder_.path() + "/log"); }
  [[nodiscard]] static bool is(const Broker& broker, const std::string& state) {
    return wait_until([&] { return broker.kept(kRoot)[kRoot] == state; });
  }

  TempDir folder_;
  std::optional<Program> daemon_;
};

TEST_F(DaemonOnMqtt, ACleanStopLeavesDisconnectedAndAKillLeavesLost) {
  Broker broker;
  broker.start();
  start(broker.port(), 1);
  ASSERT_TRUE(is(broker, "ready")) << log();
  daemon_->signal(SIGTERM);
  EXPECT_EQ(daemon_->wait(60s), 0) << log();
  for (const auto& [topic, state] : broker.kept("homie/5/+/$state")) {
    EXPECT_EQ(state, "disconnected") << topic;
  }
  start(broker.port(), 1);
  ASSERT_TRUE(is(broker, "ready")) << log();
  daemon_->signal(SIGKILL);
  EXPECT_TRUE(is(broker, "lost"));
}

TEST_F(DaemonOnMqtt, AForeignCheckerFindsNothingWrongWhileItLives) {
  Broker broker;
  broker.start();
  start(broker.port(), 600);
  ASSERT_TRUE(is(broker, "ready")) << log();
  const auto checked = run_program({"/usr/bin/python3", source_dir() + "/tests/mqtt/homie_check.py",
                                    "127.0.0.1", std::to_string(broker.port()), "limegate", "12"});
  EXPECT_EQ(checked.code, 0) << checked.output;
  std::printf("%s", checked.output.c_str());
}

/// At rest, while the broker is started anew and has lost everything, and while the daemon is.
TEST_F(DaemonOnMqtt, AForeignCheckerFindsNothingAroundRestarts) {
  Broker broker;
  broker.start();
  start(broker.port(), 1);
  ASSERT_TRUE(is(broker, "ready")) << log();
  Program checker{{"/usr/bin/python3", source_dir() + "/tests/mqtt/homie_check.py", "127.0.0.1",
                   std::to_string(broker.port()), "limegate", "240"},
                  folder_.path() + "/findings"};
  ASSERT_TRUE(wait_until([&] { return contains(checker.output(), "listening"); }));
  broker.kill();
  broker.start();
  ASSERT_TRUE(is(broker, "ready")) << log();
  daemon_->signal(SIGTERM);
  EXPECT_EQ(daemon_->wait(60s), 0) << log();
  start(broker.port(), 1);
  ASSERT_TRUE(is(broker, "ready")) << log();
  broker.publish("homie-check/end", "");
  EXPECT_EQ(checker.wait(240s), 0) << checker.output();
  std::printf("%s", checker.output().c_str());
}

TEST_F(DaemonOnMqtt, ARefusalIsToldWithItsReasonAndCounted) {
  Broker broker;
  broker.start();
  start(broker.port(), 1);
  ASSERT_TRUE(is(broker, "ready")) << log();
  const std::string keeper = "homie/5/limegate-demo-reef/keeper/";
  const auto last = [&] { return broker.kept(keeper + "refused")[keeper + "refused"]; };
  EXPECT_EQ(last(), "{}") << "none was";
  broker.publish("homie/5/limegate-demo-reef/plan/day-volume/set", "1e6");
  broker.publish("homie/5/limegate-demo-reef/plan/day-volume/set", "1e6");
  EXPECT_TRUE(wait_until([&] {
    return contains(last(),
                    R"("what":"plan/day-volume","by":"MQTT","why":"'1e6' is outside 0 to)") &&
           contains(last(), R"("times":2})");
  })) << last();
  EXPECT_TRUE(contains(log(), "By MQTT: plan/day-volume refused. '1e6' is outside")) << log();
  const auto status = run_program({limegate_path(), "status", folder_.path() + "/config.toml"});
  EXPECT_TRUE(contains(status.output, "refused last: plan/day-volume by MQTT at "))
      << status.output;
  EXPECT_TRUE(contains(status.output, "MQTT: connected to 127.0.0.1:")) << status.output;
}

TEST_F(DaemonOnMqtt, APauseFromAfarHoldsAndItsEndIsObeyed) {
  Broker broker;
  broker.start();
  start(broker.port(), 1);
  ASSERT_TRUE(is(broker, "ready")) << log();
  const std::string keeper = "homie/5/limegate-demo-reef/keeper/";
  broker.publish(keeper + "pause-minutes/set", "10");
  EXPECT_TRUE(
      wait_until([&] { return broker.kept(keeper + "paused")[keeper + "paused"] == "true"; }));
  const std::string holds = "homie/5/limegate-demo-reef/gate/holds";
  EXPECT_TRUE(wait_until([&] { return contains(broker.kept(holds)[holds], "paused"); }));
  broker.publish(keeper + "paused/set", "false");
  EXPECT_TRUE(
      wait_until([&] { return broker.kept(keeper + "paused")[keeper + "paused"] == "false"; }));
  EXPECT_TRUE(contains(log(), "By MQTT: pause")) << log();
}

TEST(CheckOfMqtt, SaysWhereItIsPublishedAndWhatCanBeDoneFromAfar) {
  const TempDir folder;
  const std::string file = folder.path() + "/config.toml";
  write_file(file, read_file(source_dir() + "/config/examples/simulated.toml") +
                       "\n[mqtt]\nbroker = \"mqtts://broker.lan\"\n");
  const auto ran = run_program({limegate_path(), "check", file});
  EXPECT_EQ(ran.code, 0) << ran.output;
  EXPECT_TRUE(contains(ran.output,
                       "MQTT: published at broker.lan:8883 over TLS below "
                       "homie/5/limegate. From afar one can pause"))
      << ran.output;
}

TEST_F(DaemonOnMqtt, DosingGoesOnWhileTheBrokerRefusesThePassword) {
  const std::string passwords = folder_.path() + "/passwords";
  ASSERT_EQ(
      run_program({"/usr/bin/mosquitto_passwd", "-c", "-b", passwords, "limegate", "right"}).code,
      0);
  Broker broker{"allow_anonymous false\npassword_file " + passwords + "\n"};
  broker.start();
  write_file(folder_.path() + "/secret", "wr0ng-secret\n");
  start(broker.port(), 2000,
        "user = \"limegate\"\npassword_file = \"" + folder_.path() + "/secret\"\n");
  EXPECT_TRUE(wait_until([&] { return contains(log(), "the broker refuses us (Not authorized)"); }))
      << log();
  EXPECT_TRUE(wait_until([&] { return contains(log(), "event=pulse"); })) << log();
  EXPECT_FALSE(contains(log(), "wr0ng-secret"));
  daemon_->signal(SIGTERM);
  EXPECT_EQ(daemon_->wait(60s), 0);
}

}  // namespace
}  // namespace limegate::test
