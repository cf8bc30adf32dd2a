// What others leave on our tree, as it comes in.

#include "mqtt/tree_mail.h"

#include <chrono>
#include <string>

#include <gmock/gmock.h>

namespace limegate::mqtt {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using ::testing::ElementsAre;
using ::testing::IsEmpty;

constexpr Instant kStart{1h};

class TreeMails : public ::testing::Test {
 protected:
  using Age = TreeMail::Age;
  bool offer(const std::string& topic, const std::string& payload = "x", Instant now = kStart) {
    return mail_.offer("homie/5/" + topic, payload, Age::kept, now);
  }
  TreeMail mail_{"homie/5", {"dev-reef", "dev"}};
};

TEST_F(TreeMails, TakeWhatStandsOnOurTopicsAndNoCommand) {
  EXPECT_TRUE(offer("dev-reef/gate/open", "true"));
  EXPECT_TRUE(offer("dev/$state", "lost"));
  EXPECT_TRUE(offer("dev-reef/$alert/old", ""));
  EXPECT_FALSE(offer("dev-reef/keeper/paused/set"));
  EXPECT_FALSE(offer("dev-frag/gate/open"));
  EXPECT_FALSE(offer("device/gate/open"));
  EXPECT_FALSE(offer("dev" + std::string(600, 'x')));
  EXPECT_FALSE(mail_.offer("home/dev/gate", "x", Age::kept, kStart));
  for (const char* unspeakable : {"dev-reef/gate/\xff", "dev-reef/gate/a\nb", "dev/\x7f"}) {
    EXPECT_FALSE(offer(unspeakable)) << "it can't be published or said";
  }
  const auto taken = mail_.take();
  ASSERT_EQ(taken.said.size(), 3U);
  EXPECT_EQ(taken.said[0].device, 0U);
  EXPECT_EQ(taken.said[0].path, "/gate/open");
  EXPECT_EQ(taken.said[0].payload, "true");
  EXPECT_EQ(taken.said[1].device, 1U);
  EXPECT_EQ(taken.said[1].path, "/$state");
  EXPECT_THAT(mail_.take().said, IsEmpty());
}

TEST_F(TreeMails, KnowAStationThatIsNoMoreByTheOldDescription) {
  EXPECT_FALSE(offer("dev-frag/gate/open")) << "not known yet: it may be somebody else's";
  EXPECT_TRUE(offer(
      "dev/$description",
      R"({"children": ["dev-reef", "dev-frag", "dev", "lamp", 7, "dev-a/b", "dev-#", "dev-\\n"]})"));
  EXPECT_THAT(mail_.take().orphans, ElementsAre("dev-frag"));
  EXPECT_TRUE(offer("dev-frag/gate/open", "true"));
  EXPECT_TRUE(offer("dev-frag/ph/value", "")) << "cleared";
  EXPECT_THAT(mail_.take().left_over, IsEmpty()) << "it may be a daemon of its own by now";
  EXPECT_TRUE(offer("dev-frag/$description", R"({"root": "dev"})"));
  EXPECT_THAT(mail_.take().left_over,
              ElementsAre("homie/5/dev-frag/gate/open", "homie/5/dev-frag/$description"));
  EXPECT_TRUE(mail_.offer("homie/5/dev-frag/gate/open", "true", Age::fresh, kStart));
  EXPECT_THAT(mail_.take().left_over, IsEmpty()) << "somebody lives there";
  EXPECT_TRUE(offer("dev/$description", R"({"children": ["dev-frag"]})"));
  EXPECT_THAT(mail_.take().orphans, IsEmpty()) << "once";
  mail_.forget();
  EXPECT_THAT(mail_.take().orphans, ElementsAre("dev-frag")) << "with each connection";
}

// Two daemons put each other right without an end: a station had become a daemon of its own.
TEST_F(TreeMails, LeaveADaemonAloneThatWasAStationOnce) {
  EXPECT_TRUE(offer("dev/$description", R"({"children": ["dev-frag"]})"));
  EXPECT_TRUE(offer("dev-frag/$description", R"({"children": ["dev-frag-a"]})"));
  EXPECT_TRUE(offer("dev-frag/$state", "ready"));
  EXPECT_THAT(mail_.take().left_over, IsEmpty());
}

TEST_F(TreeMails, AreNotMovedByNonsense) {
  for (const char* text :
       {"", "{", "[]", "{}", R"({"children": 3})", R"({"children": {}})", "\xff"}) {
    EXPECT_TRUE(offer("dev/$description", text)) << text;
  }
  EXPECT_TRUE(offer("dev-reef/$description", R"({"children": ["dev-frag"]})")) << "not the root";
  EXPECT_THAT(mail_.take().orphans, IsEmpty());
}

TEST_F(TreeMails, AFloodIsBounded) {
  for (int i = 0; i < 100000; ++i) {
    EXPECT_TRUE(offer("dev/gate/open", std::to_string(i)));
  }
  const auto taken = mail_.take();
  EXPECT_EQ(taken.said.size(), 3000U);
  EXPECT_TRUE(taken.missed);
  for (int i = 0; i < 1000; ++i) {
    (void)offer("dev/gate/open", "x", kStart + 2s);
  }
  EXPECT_EQ(mail_.take().said.size(), 10U);
}

TEST_F(TreeMails, LargeMessagesDoNotFillTheMemory) {
  for (int i = 0; i < 2000; ++i) {
    EXPECT_TRUE(offer("dev-reef/gate/open", std::string(60000, 'x')));
  }
  const auto taken = mail_.take();
  std::size_t bytes = 0;
  for (const TreeMail::Said& said : taken.said) {
    bytes += said.payload.size();
  }
  EXPECT_LE(bytes, 1000000U);
  EXPECT_TRUE(taken.missed);
}

}  // namespace
}  // namespace limegate::mqtt
