// The tree on a real broker, as foreign clients see it.

#include <chrono>

#include <gmock/gmock.h>
#include <nlohmann/json.hpp>

#include "mqtt/rig.h"
#include "support/broker.h"

namespace limegate::test {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using nlohmann::json;
using ::testing::Contains;
using ::testing::ElementsAre;
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
  ASSERT_TRUE(wait_until([&] { return ready(broker); }, 10s)) << broker.log();
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
  EXPECT_THAT(kept, Contains(Pair(frag + "keeper/pause-minutes", "90")));
  EXPECT_THAT(kept, Contains(Pair(frag + "$alert/ph-missing",
                                  "The pH probe of frag is missing for long.")));
  const json holds = json::parse(kept.at(frag + "gate/holds"));
  EXPECT_EQ(holds[0]["code"], "ph-missing");
  const json root = json::parse(kept.at("homie/5/limegate/$description"));
  EXPECT_EQ(root["children"], (json{"limegate-reef", "limegate-frag"}));
}

}  // namespace
}  // namespace limegate::test
