// The tree on a real broker, as foreign clients see it.

#include <chrono>
#include <cmath>
#include <cstdio>
#include <optional>
#include <set>

#include <gmock/gmock.h>
#include <nlohmann/json.hpp>

#include "mqtt/alert.h"
#include "mqtt/rig.h"
#include "support/broker.h"
#include "support/places.h"

namespace limegate::test {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using nlohmann::json;
using ::testing::Contains;
using ::testing::Pair;

bool ready(const Broker& broker) {
  auto kept = broker.kept("homie/5/+/$state");
  return kept["homie/5/limegate/$state"] == "ready" &&
         kept["homie/5/limegate-reef/$state"] == "ready" &&
         kept["homie/5/limegate-frag/$state"] == "ready";
}

TEST(Tree, StandsOnTheBrokerWithEveryValue) {
  Broker broker;
  broker.start();
  Rig rig{Rig::settings(broker.port())};
  ASSERT_TRUE(wait_until([&] { return ready(broker); })) << broker.log();
  const auto kept = broker.kept();
  const std::string reef = "homie/5/limegate-reef/";
  EXPECT_THAT(kept, Contains(Pair(reef + "ph/value", "8.200")));
  EXPECT_THAT(kept, Contains(Pair(reef + "ph/time", "2026-11-25T07:15:32Z")));
  EXPECT_THAT(kept, Contains(Pair(reef + "gate/open", "true")));
  EXPECT_THAT(kept, Contains(Pair(reef + "gate/holds", "[]")));
  EXPECT_THAT(kept, Contains(Pair(reef + "dosing/day-allowance", "1400.0")));
  EXPECT_THAT(kept, Contains(Pair(reef + "plan/day-volume", "2000")));
  const std::string frag = "homie/5/limegate-frag/";
  EXPECT_EQ(kept.count(frag + "ph/value"), 0U) << "a value that never was";
  EXPECT_THAT(kept, Contains(Pair(frag + "ph/quality", "bad")));
  EXPECT_EQ(kept.count(frag + "dosing/given-day"), 0U) << "a record that is missing";
  EXPECT_THAT(kept, Contains(Pair(frag + "dosing/day-allowance", "0.0")));
  EXPECT_THAT(kept, Contains(Pair(frag + "keeper/pause-minutes", "90")));
  EXPECT_THAT(kept, Contains(Pair(frag + "$alert/ph-missing",
                                  "The pH probe of frag is missing for long.")));
  const json holds = json::parse(kept.at(frag + "gate/holds"));
  EXPECT_EQ(holds[0]["code"], "ph-missing");
  const json root = json::parse(kept.at("homie/5/limegate/$description"));
  EXPECT_EQ(root["children"], (json{"limegate-reef", "limegate-frag"}));
}

TEST(Tree, ShowsTheInputsOfTheOwnersRules) {
  Broker broker;
  broker.start();
  mqtt::Settings settings = Rig::settings(broker.port());
  settings.publish_every = 1h;  // what comes does not come by a round
  Rig rig{settings};
  ASSERT_TRUE(wait_until([&] { return ready(broker); })) << broker.log();
  const std::string reef = "homie/5/limegate-reef/";
  const auto kept = broker.kept(reef + "#");
  EXPECT_THAT(kept, Contains(Pair(reef + "inputs/sump-low", "true")));
  EXPECT_THAT(kept, Contains(Pair(reef + "inputs/turbidity", "0.125")));
  const json nodes = json::parse(kept.at(reef + "$description"))["nodes"];
  EXPECT_EQ(
      nodes["inputs"]["properties"],
      (json{{"sump-low", {{"name", "Input sump-low"}, {"datatype", "boolean"}}},
            {"turbidity", {{"name", "Input turbidity"}, {"datatype", "float"}, {"unit", "NTU"}}}}));
  const auto frag = broker.kept("homie/5/limegate-frag/$description");
  EXPECT_EQ(json::parse(frag.at("homie/5/limegate-frag/$description"))["nodes"].count("inputs"), 0U)
      << "a node without a property is none";
  rig.change([](station::Overview& now) { now.stations[0].inputs[0].value = 0.0; });
  EXPECT_TRUE(wait_until([&] {
    return broker.kept(reef + "inputs/+")[reef + "inputs/sump-low"] == "false";
  })) << "at once";
  rig.change([](station::Overview& now) {
    now.stations[0].inputs[0].value.reset();
    now.stations[0].inputs[1].value.reset();
  });
  EXPECT_TRUE(wait_until([&] {
    return broker.kept(reef + "inputs-quality/+") ==
           std::map<std::string, std::string>{{reef + "inputs-quality/sump-low", "bad"},
                                              {reef + "inputs-quality/turbidity", "bad"}};
  })) << "nothing is known of either, and that is said at once";
  EXPECT_EQ(broker.kept(reef + "inputs/+").size(), 2U) << "what they were last stays";
}

/// The ids of what a device describes, as "node/property".
std::set<std::string> described(const Broker& broker, const std::string& device) {
  const std::string topic = "homie/5/" + device + "/$description";
  const json description = json::parse(broker.kept(topic)[topic]);
  std::set<std::string> paths;
  for (const auto& [node, about] : description["nodes"].items()) {
    for (const auto& [id, property] : about["properties"].items()) {
      paths.insert(std::string{node}.append("/").append(id));
    }
  }
  return paths;
}

TEST(Tree, DescribesNothingThatHasNoValue) {
  Broker broker;
  broker.start();
  Rig rig{Rig::settings(broker.port())};
  ASSERT_TRUE(wait_until([&] { return ready(broker); }));
  EXPECT_EQ(described(broker, "limegate-frag").count("ph/value"), 0U) << "it never spoke";
  EXPECT_EQ(described(broker, "limegate-frag").count("dosing/given-day"), 0U) << "it is lost";
  EXPECT_EQ(described(broker, "limegate-reef").count("ph/usual"), 1U);
  const Subscriber heard{broker, "homie/5/limegate-reef/+"};
  rig.change([](station::Overview& now) {
    now.stations[0].usual_ph.reset();
    now.stations[0].above_reference.reset();
  });
  ASSERT_TRUE(wait_until([&] { return described(broker, "limegate-reef").count("ph/usual") == 0; }))
      << "what goes goes at once";
  EXPECT_TRUE(wait_until([&] { return heard.heard("0 homie/5/limegate-reef/$state init"); }));
  EXPECT_TRUE(wait_until([&] { return ready(broker); }));
  EXPECT_TRUE(broker.kept("homie/5/limegate-reef/ph/usual").empty());
  rig.change([](station::Overview& now) { now.stations[0].usual_ph = Ph{8.25}; });
  ASSERT_TRUE(rig.wait_for_ticks(25));
  EXPECT_EQ(described(broker, "limegate-reef").count("ph/usual"), 0U)
      << "the next description is not due for an hour";
  EXPECT_TRUE(broker.kept("homie/5/limegate-reef/ph/usual").empty());
}

TEST(Tree, DescribesWhatComesLaterWithTheNextDescription) {
  Broker broker;
  broker.start();
  mqtt::Settings settings = Rig::settings(broker.port());
  settings.descriptions_apart = 2s;
  Rig rig{settings};
  ASSERT_TRUE(wait_until([&] { return ready(broker); }));
  const auto speak = [](station::Overview& now) { now.stations[1].ph = now.stations[0].ph; };
  rig.change(speak);
  EXPECT_TRUE(wait_until(
      [&] { return described(broker, "limegate-frag").count("ph/value") == 1 && ready(broker); }));
  const std::string value = "homie/5/limegate-frag/ph/value";
  EXPECT_EQ(broker.kept(value)[value], "8.200");
}

TEST(Tree, WaitsInInitForProbesThatAreAboutToSpeak) {
  Broker broker;
  broker.start();
  mqtt::Settings settings = Rig::settings(broker.port());
  settings.begins_within = 1h;
  Rig rig{settings};
  const std::string state = "homie/5/limegate-frag/$state";
  ASSERT_TRUE(wait_until([&] { return broker.kept(state)[state] == "init"; }));
  ASSERT_TRUE(rig.wait_for_ticks(25));
  EXPECT_EQ(broker.kept(state)[state], "init");
  rig.change([](station::Overview& now) { now.stations[1].ph = now.stations[0].ph; });
  EXPECT_TRUE(wait_until([&] { return ready(broker); }));
  EXPECT_EQ(described(broker, "limegate-frag").count("ph/value"), 1U);
}

TEST(Tree, AReadingIsPublishedWithEveryRound) {
  Broker broker;
  broker.start();
  mqtt::Settings settings = Rig::settings(broker.port());
  settings.publish_every = 200ms;
  Rig rig{settings, 200ms};  // as often as it ticks: a tick that is a little early costs no round
  ASSERT_TRUE(wait_until([&] { return ready(broker); }));
  const Subscriber heard{broker};
  constexpr int rounds = 15;
  for (int round = 0; round < rounds; ++round) {
    rig.change([&](station::Overview& now) { now.stations[0].ph.value = 8.3 + 0.001 * round; });
    ASSERT_TRUE(rig.wait_for_ticks(1));
  }
  const auto published = [&] {
    int count = 0;
    for (int round = 0; round < rounds; ++round) {
      count += heard.heard("limegate-reef/ph/value 8.3" + std::string(round < 10 ? "0" : "") +
                           std::to_string(round))
                   ? 1
                   : 0;
    }
    return count;
  };
  EXPECT_TRUE(wait_until([&] { return published() >= rounds - 2; })) << published();
}

TEST(Tree, ChangesOfTheGateComeAtOnceAndReadingsInTheirOwnTime) {
  Broker broker;
  broker.start();
  const auto show_ph = [](double ph) {
    return [ph](station::Overview& now) { now.stations[0].ph.value = ph; };
  };
  {
    Rig rig{Rig::settings(broker.port())};
    ASSERT_TRUE(wait_until([&] { return ready(broker); }));
    const Subscriber heard{broker};
    rig.change(show_ph(8.4));
    EXPECT_TRUE(wait_until([&] { return heard.heard("ph/value 8.400"); })) << "by the next round";
  }
  mqtt::Settings settings = Rig::settings(broker.port());
  settings.publish_every = 1h;  // what comes does not come by a round
  Rig rig{settings};
  ASSERT_TRUE(wait_until([&] { return rig.told("mqtt-connected") && ready(broker); }));
  const Subscriber heard{broker};
  rig.change(show_ph(8.3));
  ASSERT_TRUE(rig.wait_for_ticks(25));
  EXPECT_FALSE(heard.heard("ph/value 8.300"));
  rig.change([](station::Overview& now) { now.stations[0].gate_open = false; });
  EXPECT_TRUE(wait_until([&] { return heard.heard("limegate-reef/gate/open false"); }));
  EXPECT_TRUE(wait_until([&] { return heard.heard("ph/value 8.300"); }))
      << "what closed the gate comes with it";
}

TEST(Tree, ABadReadingKeepsItsValueAndSaysThatItIsBad) {
  Broker broker;
  broker.start();
  Rig rig{Rig::settings(broker.port())};
  ASSERT_TRUE(wait_until([&] { return ready(broker); }));
  rig.change([](station::Overview& now) {
    now.stations[0].ph.value = std::nan("");
    now.stations[0].ph.quality = signal::Quality::bad;
    now.stations[0].ph.reason = signal::Reason::not_a_number;
  });
  const std::string ph = "homie/5/limegate-reef/ph/";
  EXPECT_TRUE(wait_until([&] { return broker.kept(ph + "quality")[ph + "quality"] == "bad"; }));
  const auto kept = broker.kept(ph + "#");
  EXPECT_THAT(kept, Contains(Pair(ph + "value", "8.200")));
  EXPECT_THAT(kept, Contains(Pair(ph + "reason", "not-a-number")));
  EXPECT_THAT(kept, Contains(Pair(ph + "condition", "failure")));
}

TEST(Tree, AlertsThatEndAndThoseOfAnEarlierLifeGo) {
  Broker broker;
  broker.start();
  broker.publish("homie/5/limegate-reef/$alert/of-an-earlier-life", "long over", {"-r"});
  broker.publish("homie/5/limegate-frag/$alert/ph-missing", "an older sentence", {"-r"});
  Rig rig{Rig::settings(broker.port())};
  ASSERT_TRUE(wait_until([&] { return ready(broker); }));
  const std::string standing = "homie/5/limegate-frag/$alert/ph-missing";
  EXPECT_TRUE(wait_until([&] {
    return broker.kept("homie/5/+/$alert/+") ==
           std::map<std::string, std::string>{
               {standing, "The pH probe of frag is missing for long."}};
  }));
  rig.change([](station::Overview& now) { now.stations[1].alerts.clear(); });
  EXPECT_TRUE(wait_until([&] { return broker.kept("homie/5/+/$alert/+").empty(); }));
}

TEST(Tree, WhatSomebodyElseKeepsOnItIsPutRightAndTold) {
  Broker broker;
  broker.start();
  Rig rig{Rig::settings(broker.port())};
  ASSERT_TRUE(wait_until([&] { return ready(broker); }));
  const std::string reef = "homie/5/limegate-reef/";
  const auto kept = [&] {
    auto all = broker.kept("homie/5/#");
    all.erase("homie/5/limegate/daemon/time");  // it goes on by itself
    return all;
  };
  const auto ours = kept();
  for (const auto& [topic, payload] :
       std::map<std::string, std::string>{{reef + "gate/open", "false"},
                                          {reef + "gate/nonsense", "true"},
                                          {reef + "ph/value", ""},
                                          {reef + "$state", "lost"},
                                          {reef + "$description", "{}"},
                                          {reef + "$alert/false-alarm", "Nothing is well."},
                                          {"homie/5/limegate/$state", "disconnected"}}) {
    broker.publish(topic, payload, {"-r"});
  }
  EXPECT_TRUE(wait_until([&] { return kept() == ours; })) << ::testing::PrintToString(kept());
  // What comes at first may be of an earlier life of our own: that is not told.
  EXPECT_TRUE(wait_until([&] {
    broker.publish(reef + "gate/open", "false", {"-r"});
    return rig.told("mqtt-foreign");
  }));
}

TEST(Tree, OfAStationThatIsNoMoreNothingStays) {
  Broker broker;
  broker.start();
  broker.publish("homie/5/limegate/$description",
                 R"({"homie":"5.0","children":["limegate-reef","limegate-old"]})", {"-r"});
  for (const char* topic : {"$state", "$description", "ph/value", "$alert/ph-stale"}) {
    const bool description = topic == std::string{"$description"};
    broker.publish(std::string{"homie/5/limegate-old/"} + topic,
                   description ? R"({"homie":"5.0","root":"limegate"})" : "of an earlier life",
                   {"-r"});
    broker.publish(std::string{"homie/5/limegate-other/"} + topic, "somebody else's", {"-r"});
  }
  Rig rig{Rig::settings(broker.port())};
  ASSERT_TRUE(wait_until([&] { return ready(broker); }));
  EXPECT_TRUE(wait_until([&] { return broker.kept("homie/5/limegate-old/#").empty(); }));
  EXPECT_EQ(broker.kept("homie/5/limegate-other/#").size(), 4U);
}

/// A checker that knows only the Homie text watches everything from the first connection on.
TEST(Tree, AForeignCheckerFindsNothingWrong) {
  Broker broker;
  broker.start();
  const TempDir folder;
  Program checker{{"/usr/bin/python3", source_dir() + "/tests/mqtt/homie_check.py", "127.0.0.1",
                   std::to_string(broker.port()), "limegate", "120"},
                  folder.path() + "/findings"};
  ASSERT_TRUE(wait_until([&] { return contains(checker.output(), "listening"); }));
  Rig rig{Rig::settings(broker.port())};
  ASSERT_TRUE(wait_until([&] { return ready(broker); }));
  rig.change([](station::Overview& now) {
    now.stations[0].day_volume_at_station = now.stations[0].day_volume = Millilitres{2500.25};
  });
  const std::string reef = "homie/5/limegate-reef/";
  ASSERT_TRUE(wait_until([&] {
    const std::string volume = reef + "plan/day-volume-at-station";
    return broker.kept(volume)[volume] == "2500.25";
  }));
  rig.change([](station::Overview& now) {
    now.stations[0].ph.reason = signal::Reason::stale;
    now.stations[0].ph.quality = signal::Quality::bad;
    now.stations[0].next_pulse_in.reset();
    now.alerts.push_back(
        test::alert("ledger-not-writable", "The ledger can't be written.", now.started));
  });
  broker.publish(reef + "keeper/acknowledge/set", "all");
  broker.publish(reef + "plan/day-volume/set", "4000");
  EXPECT_TRUE(wait_until([&] { return rig.told("command-refused") && !rig.commands().empty(); }));
  EXPECT_TRUE(wait_until([&] {
    const auto kept = broker.kept();
    return kept.count("homie/5/limegate/$alert/ledger-not-writable") == 1 &&
           kept.at(reef + "ph/quality") == "bad";
  }));
  broker.publish("homie-check/end", "");
  EXPECT_EQ(checker.wait(120s), 0) << checker.output();
  std::printf("%s", checker.output().c_str());
  EXPECT_TRUE(contains(checker.output(), "3 devices"));
}

/// The same, while the broker is started anew and has lost everything, and while the daemon is.
TEST(Tree, AForeignCheckerFindsNothingAroundRestarts) {
  Broker broker;
  broker.start();
  std::optional<Rig> rig;
  rig.emplace(Rig::settings(broker.port()));
  ASSERT_TRUE(wait_until([&] { return ready(broker); }));
  const TempDir folder;
  Program checker{{"/usr/bin/python3", source_dir() + "/tests/mqtt/homie_check.py", "127.0.0.1",
                   std::to_string(broker.port()), "limegate", "120"},
                  folder.path() + "/findings"};
  ASSERT_TRUE(wait_until([&] { return contains(checker.output(), "listening"); }));
  broker.kill();
  broker.start();
  EXPECT_TRUE(wait_until([&] { return ready(broker); }));
  rig.reset();
  rig.emplace(Rig::settings(broker.port()));
  rig->change([](station::Overview& now) {
    now.stations[0].usual_ph.reset();  // a new run knows less
    now.stations[0].next_pulse_in.reset();
  });
  EXPECT_TRUE(wait_until([&] { return rig->told("mqtt-connected") && ready(broker); }));
  broker.publish("homie-check/end", "");
  EXPECT_EQ(checker.wait(120s), 0) << checker.output();
  std::printf("%s", checker.output().c_str());
}

}  // namespace
}  // namespace limegate::test
