// The difference between what should stand on a broker and what was sent.

#include "mqtt/mirror.h"

#include <gmock/gmock.h>

namespace limegate::mqtt {
namespace {

using ::testing::ElementsAre;
using ::testing::IsEmpty;

constexpr std::size_t kPlenty = 100;

std::vector<std::string> texts(const std::vector<Message>& messages) {
  std::vector<std::string> lines;
  lines.reserve(messages.size());
  for (const Message& message : messages) {
    lines.push_back(message.topic.substr(8) + " " + message.payload);
  }
  return lines;
}

class Mirrors : public ::testing::Test {
 protected:
  Mirrors() : device_(mirror_.add("dev")) {
    mirror_.describe(device_, "{1}");
    show("8.1");
  }
  void show(std::optional<std::string> ph,
            const std::vector<std::pair<std::string, std::string>>& alerts = {}) {
    mirror_.show(device_, {{"ph", "value", std::move(ph)}, {"gate", "open", "true"}}, alerts);
  }
  std::vector<std::string> take(std::size_t most = kPlenty) { return texts(mirror_.take(most)); }
  void bring_up() {
    (void)take();
    mirror_.allow_ready();
    (void)take();
  }

  Mirror mirror_{"homie/5"};
  std::size_t device_;
};

TEST_F(Mirrors, BeginInInitAndAreReadyOnlyWhenTheyMay) {
  EXPECT_THAT(take(), ElementsAre("dev/$state init", "dev/$description {1}", "dev/ph/value 8.1",
                                  "dev/gate/open true"));
  EXPECT_TRUE(mirror_.settled());
  EXPECT_THAT(take(), IsEmpty());
  mirror_.allow_ready();
  EXPECT_THAT(take(), ElementsAre("dev/$state ready"));
}

TEST_F(Mirrors, SendOnlyWhatDiffers) {
  bring_up();
  show("8.2");
  EXPECT_THAT(take(), ElementsAre("dev/ph/value 8.2"));
  show("8.2");
  EXPECT_THAT(take(), IsEmpty());
}

TEST_F(Mirrors, GoThroughInitWhenTheDescriptionChanges) {
  bring_up();
  mirror_.describe(device_, "{2}");
  show("8.2");
  EXPECT_THAT(take(), ElementsAre("dev/$state init", "dev/$description {2}", "dev/ph/value 8.2",
                                  "dev/$state ready"));
}

TEST_F(Mirrors, KeepTheOrderWhereThereIsNoRoom) {
  mirror_.allow_ready();
  EXPECT_THAT(take(1), IsEmpty()) << "init and description go together";
  EXPECT_THAT(take(2), ElementsAre("dev/$state init", "dev/$description {1}"));
  EXPECT_FALSE(mirror_.settled());
  show("8.3");  // newer than what waited
  EXPECT_THAT(take(1), ElementsAre("dev/ph/value 8.3"));
  EXPECT_THAT(take(1), ElementsAre("dev/gate/open true"));
  EXPECT_THAT(take(1), ElementsAre("dev/$state ready"));
  EXPECT_TRUE(mirror_.settled());
}

TEST_F(Mirrors, SendEverythingToANewConnection) {
  bring_up();
  mirror_.forget();
  EXPECT_THAT(take(), ElementsAre("dev/$state init", "dev/$description {1}", "dev/ph/value 8.1",
                                  "dev/gate/open true"));
}

TEST_F(Mirrors, LeaveAnAbsentValueAndClearAnEmptyOne) {
  bring_up();
  show(std::nullopt);
  EXPECT_THAT(take(), IsEmpty());
  show("");
  EXPECT_THAT(take(), ElementsAre("dev/ph/value "));
}

TEST_F(Mirrors, ClearAValueOfAnEarlierLifeThatThereIsNotNow) {
  Mirror fresh{"homie/5"};
  const std::size_t device = fresh.add("dev");
  fresh.describe(device, "{1}");
  fresh.show(device, {{"ph", "value", std::nullopt}}, {});
  EXPECT_THAT(texts(fresh.take(kPlenty)),
              ElementsAre("dev/$state init", "dev/$description {1}", "dev/ph/value "));
}

TEST_F(Mirrors, ClearAlertsThatEndedAndThoseThatNobodyKnows) {
  show("8.1", {{"ph-stale", "The pH is old."}});
  bring_up();
  EXPECT_FALSE(mirror_.found(device_, "/$alert/ph-stale", "The pH is old."));
  EXPECT_TRUE(mirror_.found(device_, "/$alert/of-an-earlier-life", "It was."));
  EXPECT_THAT(take(), ElementsAre("dev/$alert/of-an-earlier-life "));
  show("8.1");
  EXPECT_THAT(take(), ElementsAre("dev/$alert/ph-stale "));
}

TEST_F(Mirrors, PutRightWhatSomebodyElsePutOnTheirTopics) {
  show("8.1", {{"ph-stale", "The pH is old."}});
  EXPECT_FALSE(mirror_.found(device_, "/ph/value", "9")) << "ours is on its way";
  bring_up();
  EXPECT_FALSE(mirror_.found(device_, "/gate/open", "true"));
  EXPECT_FALSE(mirror_.found(device_, "/$state", "ready"));
  EXPECT_FALSE(mirror_.found(device_, "/$description", "{1}"));
  EXPECT_FALSE(mirror_.found(device_, "/gate/nothing", "")) << "it is gone already";
  EXPECT_THAT(take(), IsEmpty());
  EXPECT_TRUE(mirror_.found(device_, "/gate/open", "false"));
  EXPECT_TRUE(mirror_.found(device_, "/gate/nothing", "1"));
  EXPECT_TRUE(mirror_.found(device_, "/$alert/ph-stale", ""));
  EXPECT_TRUE(mirror_.found(device_, "/$state", "lost"));
  EXPECT_THAT(take(), ElementsAre("dev/gate/open true", "dev/gate/nothing ",
                                  "dev/$alert/ph-stale The pH is old.", "dev/$state ready"));
  EXPECT_TRUE(mirror_.found(device_, "/$description", "{}"));
  EXPECT_THAT(take(), ElementsAre("dev/$state init", "dev/$description {1}", "dev/$state ready"));
}

TEST_F(Mirrors, ClearNoAlertThatBeganMeanwhile) {
  bring_up();
  EXPECT_TRUE(mirror_.found(device_, "/$alert/ph-stale", "false alarm"));
  show("8.1", {{"ph-stale", "The pH is old."}});
  EXPECT_THAT(take(), ElementsAre("dev/$alert/ph-stale The pH is old."));
  EXPECT_TRUE(mirror_.found(device_, "/$alert/another", "false alarm"));
  mirror_.forget();
  show("8.1", {{"ph-stale", "The pH is old."}, {"another", "It is true."}});
  EXPECT_THAT(take(), ::testing::Not(::testing::Contains("dev/$alert/another ")));
  EXPECT_FALSE(mirror_.found(device_, "/$log/info", "Dosed."));
}

TEST_F(Mirrors, RepeatAValueThatSomebodyTriedToSet) {
  bring_up();
  mirror_.repeat(device_, "gate", "open");
  mirror_.repeat(device_, "gate", "nothing");
  EXPECT_THAT(take(), ElementsAre("dev/gate/open true"));
}

}  // namespace
}  // namespace limegate::mqtt
