// A hostile client: floods and huge payloads. What the loop does meanwhile is measured and printed.

#include <chrono>
#include <cstdio>
#include <thread>

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

/// Publishes as quickly as it is told to, and prints how many came out.
constexpr const char* kFlooder = R"(
import sys, time
import paho.mqtt.client as mqtt
port, topic, rate, seconds = int(sys.argv[1]), sys.argv[2], int(sys.argv[3]), float(sys.argv[4])
client = mqtt.Client(protocol=mqtt.MQTTv5)
client.connect("127.0.0.1", port)
client.loop_start()
begin = time.monotonic()
sent = 0
while time.monotonic() - begin < seconds:
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
    rig_.emplace(Rig::settings(broker_.port()));
    ASSERT_TRUE(wait_until([&] { return rig_->told("mqtt-connected"); }));
    std::this_thread::sleep_for(500ms);
    (void)rig_->pace();
    std::this_thread::sleep_for(4s);
    print("before", rig_->pace());
  }
  Broker broker_;
  std::optional<Rig> rig_;
};

TEST_F(Floods, TenThousandCommandsASecondLeaveTheLoopAlone) {
  const TempDir folder;
  Program flooder{{"/usr/bin/python3", "-c", kFlooder, std::to_string(broker_.port()),
                   "homie/5/limegate-reef/keeper/paused/set", "10000", "6"},
                  folder.path() + "/output"};
  std::this_thread::sleep_for(1s);
  (void)rig_->pace();
  std::this_thread::sleep_for(4s);
  const Rig::Pace during = rig_->pace();
  print("during the flood", during);
  ASSERT_EQ(flooder.wait(30s), 0) << flooder.output();
  std::printf("%s", flooder.output().c_str());
  EXPECT_GT(during.ticks, 150U) << "a tick every 20 ms";
  EXPECT_LT(during.show_p99_us, 5000);
  EXPECT_LE(rig_->commands().size(), 20U + 2U * 15U) << "twenty at once, then two a second";
  EXPECT_EQ(rig_->count_events("mqtt-dropped"), 1) << "told once";
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
  std::this_thread::sleep_for(2s);
  const Rig::Pace during = rig_->pace();
  print("during 256 MB", during);
  EXPECT_LT(during.show_p99_us, 5000);
  EXPECT_THAT(rig_->commands(), ::testing::IsEmpty());
  EXPECT_EQ(rig_->count_events("mqtt-away"), 0);
  broker_.publish("homie/5/limegate-reef/keeper/paused/set", "true");
  EXPECT_TRUE(wait_until([&] { return rig_->commands().size() == 1; })) << "and goes on";
}

}  // namespace
}  // namespace limegate::test
