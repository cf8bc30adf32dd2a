// What a message to a /set topic means. The volumes are a scenario of our own.

#include "mqtt/set_message.h"

#include <chrono>

#include <gtest/gtest.h>

namespace limegate::mqtt {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

constexpr Millilitres kMost{2000.5};

std::variant<Ordered, Refused> read(const char* node, const char* property, const char* payload) {
  return read_station_set({node, property}, payload, kMost);
}

/// The command as text, or "refused".
std::string asked(const char* node, const char* property, const char* payload) {
  const auto result = read(node, property, payload);
  if (std::holds_alternative<Refused>(result)) {
    return "refused";
  }
  const alerts::Asked& command = std::get<Ordered>(result).command;
  std::string text = alerts::name_of(command);
  if (const auto* seen = std::get_if<alerts::Command>(&command)) {
    return text + " " + std::get<alerts::Acknowledge>(*seen).alert;
  }
  const auto& to_station = std::get<station::Command>(command);
  if (const auto* pause = std::get_if<station::Pause>(&to_station)) {
    text += " " + std::to_string(
                      std::chrono::duration_cast<std::chrono::minutes>(pause->lasting).count());
  }
  if (const auto* set = std::get_if<station::SetDayVolume>(&to_station)) {
    text += " " + std::to_string(set->volume.count());
  }
  return text;
}

struct Row {
  const char* name;
  const char* node;
  const char* property;
  const char* payload;
  const char* expected;
};
void PrintTo(const Row& row, std::ostream* out) { *out << row.name; }

class SetTable : public ::testing::TestWithParam<Row> {};

TEST_P(SetTable, MeansThisAndNoMore) {
  const Row& row = GetParam();
  EXPECT_EQ(asked(row.node, row.property, row.payload), row.expected);
}

INSTANTIATE_TEST_SUITE_P(
    Sets, SetTable,
    ::testing::Values(
        Row{"pause", "keeper", "paused", "true", "pause 120"},
        Row{"resume", "keeper", "paused", "false", "resume"},
        Row{"pause_neither", "keeper", "paused", "yes", "refused"},
        Row{"minutes_zero_resumes", "keeper", "pause-minutes", "0", "resume"},
        Row{"minutes_one", "keeper", "pause-minutes", "1", "pause 1"},
        Row{"minutes_at_the_most", "keeper", "pause-minutes", "1440", "pause 1440"},
        Row{"minutes_above", "keeper", "pause-minutes", "1441", "refused"},
        Row{"minutes_below", "keeper", "pause-minutes", "-1", "refused"},
        Row{"minutes_with_a_point", "keeper", "pause-minutes", "5.0", "refused"},
        Row{"volume_zero", "plan", "day-volume", "0", "set-day-volume 0.000000"},
        Row{"volume_below_the_most", "plan", "day-volume", "2000.4", "set-day-volume 2000.400000"},
        Row{"volume_at_the_most", "plan", "day-volume", "2000.5", "set-day-volume 2000.500000"},
        Row{"volume_above", "plan", "day-volume", "2000.6", "refused"},
        Row{"volume_negative", "plan", "day-volume", "-0.1", "refused"},
        Row{"volume_not_a_number", "plan", "day-volume", "NaN", "refused"},
        Row{"acknowledge_one", "keeper", "acknowledge", "ph-stale", "acknowledge ph-stale"},
        Row{"acknowledge_all", "keeper", "acknowledge", "all", "acknowledge "},
        Row{"acknowledge_no_id", "keeper", "acknowledge", "no id!", "refused"},
        Row{"acknowledge_illegal_utf8", "keeper", "acknowledge", "\xC3\x28", "refused"},
        Row{"the_limit_itself", "plan", "day-volume-at-station", "1", "refused"},
        Row{"the_gate", "gate", "open", "true", "refused"},
        Row{"the_pump", "outlets", "pump", "running", "refused"},
        Row{"everything_off", "keeper", "switch-all-off", "true", "refused"},
        Row{"a_latch", "keeper", "release", "ph-second-ceiling", "refused"},
        Row{"another_node_of_the_same_word", "plan", "paused", "true", "refused"}),
    [](const auto& row) { return row.param.name; });

TEST(Sets, OfTheDaemonItselfAcknowledgeOnly) {
  EXPECT_TRUE(std::holds_alternative<Ordered>(read_root_set({"keeper", "acknowledge"}, "all")));
  EXPECT_TRUE(std::holds_alternative<Refused>(read_root_set({"keeper", "paused"}, "true")));
}

TEST(Sets, ARefusalNamesThePayloadAndWhatIsAllowed) {
  EXPECT_EQ(std::get<Refused>(read("plan", "day-volume", "2001")).sentence,
            "'2001' is outside 0 to 2000.5 mL; more is set at the station only.");
}

}  // namespace
}  // namespace limegate::mqtt
