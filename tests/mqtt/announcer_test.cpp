// Which discovery documents are published when; and on a real broker, as a hub finds them.

#include "mqtt/announcer.h"

#include <algorithm>
#include <chrono>
#include <cstdio>

#include <gmock/gmock.h>
#include <nlohmann/json.hpp>

#include "mqtt/rig.h"
#include "support/broker.h"
#include "support/places.h"

namespace limegate::mqtt {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using ::testing::ElementsAre;
using ::testing::IsEmpty;

constexpr std::size_t kPlenty = 100;
constexpr Instant kStart{1h};

Settings settings() {
  Settings settings;
  settings.discovery_prefix = "found";
  settings.discovery_birth_topic = "found/status";
  return settings;
}

std::string topic(const std::string& name) { return "found/sensor/limegate/" + name + "/config"; }

class Announcers : public ::testing::Test {
 protected:
  Announcers() {
    announcer_.show(0, {{topic("a"), "{1}"}, {topic("b"), "{2}"}});
    announcer_.show(1, {{topic("c"), "{3}"}});
  }
  std::vector<std::string> take(std::size_t most = kPlenty) {
    std::vector<std::string> lines;
    for (const Message& message : announcer_.take(most)) {
      EXPECT_EQ(message.kept, Message::Kept::yes);
      lines.push_back(message.topic.substr(22, 1) + message.payload);
    }
    return lines;
  }
  bool hear(const std::string& where, const std::string& what, bool retained = false) {
    return announcer_.mail()->offer(where, what, retained);
  }

  Announcer announcer_{settings()};
};

TEST_F(Announcers, SendOnlyWhatDiffers) {
  EXPECT_THAT(take(2), ElementsAre("a{1}", "b{2}"));
  EXPECT_FALSE(announcer_.settled());
  EXPECT_THAT(take(), ElementsAre("c{3}"));
  EXPECT_TRUE(announcer_.settled());
  announcer_.show(0, {{topic("a"), "{1}"}, {topic("b"), "{2.5}"}});
  EXPECT_THAT(take(), ElementsAre("b{2.5}"));
  announcer_.forget();
  EXPECT_THAT(take(), ElementsAre("a{1}", "b{2.5}", "c{3}"));
}

TEST_F(Announcers, RemoveADocumentWhosePropertyWent) {
  (void)take();
  announcer_.show(0, {{topic("a"), "{1}"}});
  EXPECT_THAT(take(), ElementsAre("b"));
  EXPECT_THAT(take(), IsEmpty());
  announcer_.show(0, {{topic("a"), "{1}"}, {topic("b"), "{2}"}});
  EXPECT_THAT(take(), ElementsAre("b{2}"));
}

TEST_F(Announcers, SendAllAgainOnceWhenTheHubCameBack) {
  (void)take();
  EXPECT_TRUE(hear("found/status", "offline"));
  announcer_.tick(kStart);
  announcer_.tick(kStart + 6s);
  EXPECT_THAT(take(), IsEmpty()) << "it went";
  EXPECT_TRUE(hear("found/status", "online"));
  announcer_.tick(kStart + 10s);
  EXPECT_TRUE(hear("found/status", "online"));
  announcer_.tick(kStart + 15s);
  EXPECT_THAT(take(), ElementsAre("a{1}", "b{2}", "c{3}")) << "at most 5 s later";
  announcer_.tick(kStart + 30s);
  EXPECT_THAT(take(), IsEmpty());
}

TEST(Announcer, WaitsBetweenNothingAndFiveSecondsForAHubThatCameBack) {
  std::vector<std::chrono::milliseconds> waits;
  for (int i = 0; i < 50; ++i) {
    Announcer announcer{settings()};
    announcer.show(0, {{topic("a"), "{1}"}});
    (void)announcer.take(kPlenty);
    EXPECT_TRUE(announcer.mail()->offer("found/status", "online", false));
    auto wait = 0ms;
    for (; announcer.settled() && wait <= 5s; wait += 50ms) {
      announcer.tick(kStart + wait);
    }
    waits.push_back(wait);
  }
  const auto [least, most] = std::minmax_element(waits.begin(), waits.end());
  EXPECT_LE(*most, 5050ms);
  EXPECT_GT(*most - *least, 1s) << "chosen, not always the same: 50 draws of 5 s";
}

TEST_F(Announcers, ClearWhatAnEarlierLifeLeft) {
  (void)take();
  EXPECT_TRUE(hear(topic("a"), "{0}", true)) << "still meant to be there";
  EXPECT_TRUE(hear(topic("z"), "{0}", true));
  EXPECT_TRUE(hear(topic("y"), "", true));
  EXPECT_TRUE(hear(topic("x"), "{0}")) << "not kept: somebody's word of just now";
  announcer_.tick(kStart);
  EXPECT_THAT(take(), ElementsAre("z"));
  EXPECT_THAT(take(), IsEmpty());
}

TEST_F(Announcers, LeaveAloneWhatIsNotTheirs) {
  for (const char* other :
       {"found/sensor/other/z/config", "found/sensor/limegate-two/z/config", "found/status/more",
        "found/sensor/limegate/z/state", "found/limegate/z/config", "elsewhere/limegate/z/config",
        "found/sensor/limegate/config", "found", ""}) {
    EXPECT_FALSE(hear(other, "{0}", true)) << other;
  }
  (void)take();
  announcer_.tick(kStart);
  EXPECT_THAT(take(), IsEmpty());
}

TEST_F(Announcers, KeepABoundOfWhatIsLeftOver) {
  (void)take();
  for (int i = 0; i < 3000; ++i) {
    EXPECT_TRUE(hear(topic("z" + std::to_string(i)), "{0}", true));
  }
  announcer_.tick(kStart);
  EXPECT_EQ(take(5000).size(), 1000U);
}

}  // namespace
}  // namespace limegate::mqtt

namespace limegate::test {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using nlohmann::json;

constexpr const char* kPrefix = "found/here";
constexpr const char* kDayVolume =
    "found/here/number/limegate/limegate-reef_plan_day-volume/config";
/// Of a station and of the daemon; that they are all is discovery_test's to say.
/// 52 rows of a station, of which one has no second probe and the other knows of 16 things nothing;
/// two inputs with their quality; nine of the daemon.
constexpr std::size_t kDocuments = (52 - 2) + (52 - 16) + 2 * 2 + 9;

mqtt::Settings settings(int port) {
  mqtt::Settings settings = Rig::settings(port);
  settings.discovery_prefix = kPrefix;
  settings.discovery_birth_topic = "hub/birth";
  settings.discovery_jitter_max = 100ms;
  return settings;
}

bool all_there(const Broker& broker) {
  return wait_until([&] { return broker.kept("found/#").size() == kDocuments; });
}

TEST(DiscoveryOnABroker, FollowsTheVolumeSetAtTheStation) {
  Broker broker;
  broker.start();
  Rig rig{settings(broker.port())};
  ASSERT_TRUE(all_there(broker));
  const auto max = [&] { return json::parse(broker.kept("found/#").at(kDayVolume))["max"]; };
  EXPECT_EQ(max(), 2000.0);
  const Subscriber heard{broker, "found/#"};
  const auto documents = [&] {
    const auto lines = heard.lines();
    return static_cast<std::size_t>(
        std::count_if(lines.begin(), lines.end(),
                      [](const std::string& line) { return contains(line, "/config {"); }));
  };
  ASSERT_TRUE(wait_until([&] { return documents() == kDocuments; }));
  rig.change([](station::Overview& now) {
    now.stations[0].day_volume_at_station = now.stations[0].day_volume = Millilitres{2500.25};
  });
  EXPECT_TRUE(wait_until([&] { return max() == 2500.25; }));
  ASSERT_TRUE(rig.wait_for_ticks(25));
  EXPECT_EQ(documents(), kDocuments + 1) << "and nothing but what changed";
}

TEST(DiscoveryOnABroker, IsPublishedAgainWhenTheHubCameBackAndAfterAnOutage) {
  Broker broker;
  broker.start();
  Rig rig{settings(broker.port())};
  ASSERT_TRUE(all_there(broker));
  broker.publish(kDayVolume, "", {"-r"});  // a broker that lost something
  ASSERT_EQ(broker.kept("found/#").size(), kDocuments - 1);
  broker.publish("hub/birth", "online");
  EXPECT_TRUE(all_there(broker));
  broker.kill();
  ASSERT_TRUE(wait_until([&] { return rig.told("mqtt-away"); }));
  broker.start();
  EXPECT_TRUE(all_there(broker));
}

TEST(DiscoveryOnABroker, RemovesWhatAnEarlierLifeLeftAndNobodyElses) {
  Broker broker;
  broker.start();
  const std::string left = "found/here/sensor/limegate/limegate-gone_ph_value/config";
  const std::string other = "found/here/sensor/limegate-two/limegate-two_daemon_time/config";
  broker.publish(left, "{}", {"-r"});
  broker.publish(other, "{}", {"-r"});
  Rig rig{settings(broker.port())};
  EXPECT_TRUE(wait_until([&] {
    const auto kept = broker.kept("found/#");
    return kept.size() == kDocuments + 1 && kept.count(left) == 0 && kept.count(other) == 1;
  }));
}

TEST(DiscoveryOnABroker, IsOffWithoutAPrefix) {
  Broker broker;
  broker.start();
  Rig rig{Rig::settings(broker.port())};
  const std::string state = "homie/5/limegate/$state";
  ASSERT_TRUE(wait_until([&] { return broker.kept(state)[state] == "ready"; }));
  ASSERT_TRUE(rig.wait_for_ticks(25));
  for (const auto& [topic, payload] : broker.kept("#")) {
    EXPECT_EQ(topic.substr(0, 8), "homie/5/");
  }
}

/// A script that knows only the fields of the convention finds every value.
TEST(DiscoveryOnABroker, AForeignReaderFindsEveryValue) {
  Broker broker;
  broker.start();
  mqtt::Settings waits = settings(broker.port());
  waits.begins_within = 1h;  // until nothing is unknown
  Rig rig{waits};
  rig.change([](station::Overview& now) {
    station::Status& frag = now.stations[1] = now.stations[0];
    frag.station = "frag";
    frag.inputs.clear();  // which there are is the config's to say
    for (station::Status& status : now.stations) {
      status.second_ph = status.ph;  // nothing is unknown, so nothing may be missing
    }
  });
  ASSERT_TRUE(wait_until([&] { return broker.kept("found/#").size() == 117; }));
  const std::vector<std::string> check{"/usr/bin/python3",
                                       source_dir() + "/tests/mqtt/discovery_check.py", "127.0.0.1",
                                       std::to_string(broker.port()), kPrefix};
  Ran ran{};
  EXPECT_TRUE(wait_until([&] {
    ran = run_program(check);
    return ran.code == 0;
  })) << ran.output;
  std::printf("%s", ran.output.c_str());
  EXPECT_TRUE(contains(ran.output, "117 documents, 3 devices"));
}

}  // namespace
}  // namespace limegate::test
