// A hostile client: floods and huge payloads. What the loop does meanwhile is measured and printed.

#include <chrono>
#include <csignal>
#include <cstdio>

#include <gmock/gmock.h>

#include "mqtt/rig.h"
#include "support/broker.h"

namespace limegate::test {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

void print(const char* when, const Rig::Pace& pace) {
  std::printf(
      "%-16s %4zu ticks; show p50 %4.0f p99 %5.0f max %5.0f us; tick late p50 %4.0f p99 %5.0f max "
      "%5.0f us\n",
      when, pace.ticks, pace.show_p50_us, pace.show_p99_us, pace.show_max_us, pace.late_p50_us,
      pace.late_p99_us, pace.late_max_us);
}

/// Publishes as quickly as it is told to until SIGTERM comes, and prints how many came out.
constexpr const char* kFlooder = R"(
import signal, sys, time
import paho.mqtt.client as mqtt
port, topic, rate = int(sys.argv[1]), sys.argv[2], int(sys.argv[3])
told = []
signal.signal(signal.SIGTERM, lambda *_: told.append(1))
client = mqtt.Client(protocol=mqtt.MQTTv5)
client.connect("127.0.0.1", port)
client.loop_start()
begin = time.monotonic()
sent = 0
while not told:
    due = int((time.monotonic() - begin) * rate)
    for _ in range(due - sent):
        client.publish(topic, "true", qos=0)
    sent = max(due, sent)
    time.sleep(0.001)
print("flooder sent %d in %.1f s" % (sent, time.monotonic() - begin), flush=True)
)";

class Floods : public ::testing::Test {
 protected:
  void SetUp() override {
    broker_.start();
    began_ = std::chrono::steady_clock::now();
    rig_.emplace(Rig::settings(broker_.port()));
    ASSERT_TRUE(wait_until([&] { return rig_->told("mqtt-connected"); }));
    (void)rig_->pace();
    ASSERT_TRUE(rig_->wait_for_ticks(200));
    print("before", rig_->pace());
  }
  /// Twenty at once, then two a second.
  [[nodiscard]] double commands_at_most() const {
    const std::chrono::duration<double> lasting = std::chrono::steady_clock::now() - began_;
    return 20.0 + 2.0 * lasting.count();
  }

  Broker broker_;
  std::chrono::steady_clock::time_point began_;
  std::optional<Rig> rig_;
};

TEST_F(Floods, TenThousandCommandsASecondLeaveTheLoopAlone) {
  const TempDir folder;
  Program flooder{{"/usr/bin/python3", "-c", kFlooder, std::to_string(broker_.port()),
                   "homie/5/limegate-reef/keeper/paused/set", "10000"},
                  folder.path() + "/output"};
  ASSERT_TRUE(wait_until([&] { return rig_->told("mqtt-dropped"); })) << "the flood is here";
  (void)rig_->pace();
  ASSERT_TRUE(rig_->wait_for_ticks(200)) << "the loop goes on";
  const Rig::Pace during = rig_->pace();
  print("during the flood", during);
  flooder.signal(SIGTERM);
  ASSERT_EQ(flooder.wait(60s), 0) << flooder.output();
  std::printf("%s", flooder.output().c_str());
  EXPECT_GT(during.whole_shows, 100U);
  EXPECT_LT(during.show_p99_us, 5000);
  const std::size_t commands = rig_->commands().size();
  EXPECT_LE(double(commands), commands_at_most());
  EXPECT_EQ(rig_->count_events("mqtt-away"), 0);
}

TEST_F(Floods, APayloadOf256MegabytesIsKeptBackByTheBroker) {
  const TempDir folder;
  const std::string file = folder.path() + "/payload";
  ASSERT_EQ(run_program({"/usr/bin/truncate", "-s", "268435000", file}).code, 0);  // MQTT's most
  (void)rig_->pace();
  std::vector<std::string> publish{"/usr/bin/mosquitto_pub",
                                   "-t",
                                   "homie/5/limegate-reef/keeper/paused/set",
                                   "-f",
                                   file,
                                   "-q",
                                   "1"};
  for (const std::string& argument : broker_.reach()) {
    publish.push_back(argument);
  }
  const auto ran = run_program(publish);
  EXPECT_EQ(ran.code, 0) << ran.output;
  ASSERT_TRUE(rig_->wait_for_ticks(100)) << "time for it to come, if it does";
  const Rig::Pace during = rig_->pace();
  print("during 256 MB", during);
  EXPECT_GT(during.whole_shows, 50U);
  EXPECT_LT(during.show_p99_us, 5000);
  EXPECT_THAT(rig_->commands(), ::testing::IsEmpty());
  EXPECT_EQ(rig_->count_events("mqtt-away"), 0);
  broker_.publish("homie/5/limegate-reef/keeper/paused/set", "true");
  EXPECT_TRUE(wait_until([&] { return rig_->commands().size() == 1; })) << "and goes on";
}

}  // namespace
}  // namespace limegate::test
