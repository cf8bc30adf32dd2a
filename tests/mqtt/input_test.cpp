// Inputs of the owner's rules from topics of others: what counts as a value, and with a real broker
// what comes through, also after an outage.

#include <chrono>
#include <cmath>
#include <optional>
#include <ostream>
#include <string>

#include <gmock/gmock.h>

#include "mqtt/input_mail.h"
#include "mqtt/rig.h"
#include "support/broker.h"

namespace limegate::mqtt {
namespace {

using Kind = rules::Input::Kind;

struct Row {
  const char* name;
  const char* payload;
  std::optional<double> digital, analogue;
};
void PrintTo(const Row& row, std::ostream* out) { *out << row.name; }

class InputPayloadTable : public ::testing::TestWithParam<Row> {};

TEST_P(InputPayloadTable, is_read) {
  EXPECT_EQ(read_input(GetParam().payload, Kind::digital), GetParam().digital);
  EXPECT_EQ(read_input(GetParam().payload, Kind::analogue), GetParam().analogue);
}

constexpr std::nullopt_t kNone = std::nullopt;
const Row kRows[] = {
    {"on", "on", 1.0, kNone},
    {"on_in_capitals", "ON", 1.0, kNone},
    {"true_with_blanks", " True\n", 1.0, kNone},
    {"one", "1", 1.0, 1.0},
    {"off", "Off", 0.0, kNone},
    {"false", "false", 0.0, kNone},
    {"zero", "0", 0.0, 0.0},
    {"number", "12.4", kNone, 12.4},
    {"negative", "-3e-1", kNone, -0.3},
    {"number_with_blanks", "\t18 ", kNone, 18.0},
    {"empty", "", kNone, kNone},
    {"blanks", "  ", kNone, kNone},
    {"words", "unavailable", kNone, kNone},
    {"nearly_on", "one", kNone, kNone},
    {"number_with_a_unit", "12.4 cm", kNone, kNone},
    {"two_numbers", "1 2", kNone, kNone},
    {"comma", "12,4", kNone, kNone},
    {"not_a_number", "nan", kNone, kNone},
    {"infinite", "inf", kNone, kNone},
    {"out_of_range", "1e999", kNone, kNone},
    {"json", "{\"value\": 1}", kNone, kNone},
};
INSTANTIATE_TEST_SUITE_P(, InputPayloadTable, ::testing::ValuesIn(kRows),
                         [](const auto& row) { return std::string{row.param.name}; });

constexpr auto kFresh = InputMail::Age::fresh;

TEST(InputMail, does_not_believe_what_the_broker_had_kept) {
  InputMail mail{{{"a", Kind::digital}}};
  EXPECT_TRUE(mail.offer("a", "on", kFresh));
  EXPECT_TRUE(mail.offer("a", "off", InputMail::Age::kept)) << "for an input, and of any age";
  const auto news = mail.take();
  ASSERT_EQ(news.size(), 1U);
  EXPECT_EQ(news[0].payload, "on");
}

TEST(InputMail, keeps_the_newest_of_each_topic_for_all_who_asked) {
  InputMail mail{{{"a", Kind::digital}, {"b", Kind::analogue}, {"a", Kind::digital}}};
  EXPECT_TRUE(mail.offer("a", "on", kFresh));
  EXPECT_TRUE(mail.offer("a", "off", kFresh));
  EXPECT_FALSE(mail.offer("c", "on", kFresh)) << "somebody else's";
  EXPECT_TRUE(mail.offer("b", std::string(65, '1'), kFresh)) << "too long is no value";
  const auto news = mail.take();
  ASSERT_EQ(news.size(), 3U);
  EXPECT_EQ(news[0].input, 0U);
  EXPECT_EQ(news[0].payload, "off");
  EXPECT_EQ(news[1].payload, "");
  EXPECT_EQ(news[2].input, 2U);
  EXPECT_TRUE(mail.take().empty());
}

}  // namespace
}  // namespace limegate::mqtt

namespace limegate::test {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using Kind = rules::Input::Kind;

constexpr const char* kLeak = "house/sump/leak";

TEST(Inputs, come_from_a_real_broker_and_again_after_an_outage) {
  Broker broker;
  broker.start();
  Rig rig{Rig::settings(broker.port()), 20ms, {{kLeak, Kind::digital}, {"level", Kind::analogue}}};
  const auto arrives = [&](const std::string& topic, const std::string& payload,
                           const std::string& as) {
    return wait_until([&] {
      broker.publish(topic, payload);  // what is published before we listen does not come
      return rig.newest_input() == as;
    });
  };
  EXPECT_TRUE(arrives(kLeak, "on", "0 1"));
  EXPECT_TRUE(arrives("level", "12.5", "1 12.5"));
  EXPECT_TRUE(arrives(kLeak, "broken", "0 nan"));
  EXPECT_TRUE(wait_until([&] { return rig.told("neither on nor off"); }));
  EXPECT_TRUE(rig.commands().empty());
  broker.kill();
  ASSERT_TRUE(wait_until([&] { return rig.told("mqtt-away"); }));
  broker.start();
  EXPECT_TRUE(arrives(kLeak, "off", "0 0"));
}

TEST(Inputs, that_the_broker_kept_are_of_any_age_and_do_not_come) {
  Broker broker;
  broker.start();
  broker.publish(kLeak, "off", {"--retain"});
  Rig rig{Rig::settings(broker.port()), 20ms, {{kLeak, Kind::digital}}};
  const char* const root = "homie/5/limegate/$state";
  ASSERT_TRUE(wait_until([&] { return broker.kept(root)[root] == "ready"; }));
  ASSERT_TRUE(rig.wait_for_ticks(25)) << "time for it to come, if it does";
  EXPECT_EQ(rig.newest_input(), "");
  // Whoever publishes may keep it all the same: what comes while we listen is new.
  EXPECT_TRUE(wait_until([&] {
    broker.publish(kLeak, "on", {"--retain"});
    return rig.newest_input() == "0 1";
  }));
}

TEST(Inputs, that_we_may_not_read_keep_no_command_away) {
  const TempDir folder;
  write_file(folder.path() + "/acl", "topic readwrite homie/#\ntopic read $SYS/#\n");
  Broker broker{"allow_anonymous true\nacl_file " + folder.path() + "/acl\n"};
  broker.start();
  Rig rig{Rig::settings(broker.port()), 20ms, {{kLeak, Kind::digital}}};
  const char* const root = "homie/5/limegate/$state";
  ASSERT_TRUE(wait_until([&] { return broker.kept(root)[root] == "ready"; }));
  EXPECT_TRUE(wait_until([&] {
    broker.publish("homie/5/limegate-reef/keeper/paused/set", "true");
    return !rig.commands().empty();
  }));
}

}  // namespace
}  // namespace limegate::test
