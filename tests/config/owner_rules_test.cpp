// [[station.input]] and [[station.rule]]: what a good file comes to, and what `check` refuses with
// its place and the nearest fix.

#include <algorithm>
#include <ostream>
#include <string>
#include <string_view>

#include <gtest/gtest.h>

#include "config/load.h"
#include "gpio/chip.h"
#include "rules/owner_sentence.h"

namespace limegate::config {
namespace {

using rules::OwnerRulebook;

/// A scenario of our own; each row below breaks it in one place.
constexpr const char* kGood = R"([daemon]
state_dir = "state"
[[bus]]
name = "panel"
type = "modbus-tcp"
host = "127.0.0.1"
[mqtt]
broker = "mqtt://localhost"
[[station]]
name = "reef"
water_volume_l = 400
evaporation_ml_per_day = 4000
reactor_bore_mm = 100
ph = { bus = "panel", unit = 1, address = 0, scale = 0.01 }
temperature = { bus = "panel", unit = 1, address = 1, scale = 0.1 }
pump = { bus = "panel", unit = 2, address = 0, timed_on_register = 10, rate_ml_per_min = 50, rate_measured = 2026-11-20 }
stirrer = { bus = "panel", unit = 2, address = 1, timed_on_register = 11 }
plan = { day_volume_ml = 2000 }
limits = { settle_min = 60 }
[[station.input]]
name = "return-pump"
bus = "panel"
unit = 3
table = "discrete_input"
address = 5
usual = "on"
[[station.input]]
name = "sump-level"
bus = "panel"
unit = 3
table = "input_register"
address = 6
scale = 0.1
unit_name = "cm"
usual = 12
[[station.input]]
name = "leak"
mqtt_topic = "house/sump/leak"
kind = "digital"
max_age_s = 900
usual = "off"
[[station.rule]]
name = "return-pump-stopped"
when = { input = "return-pump", is = "off" }
lasting_s = 10
effect = "hold"
release_after_s = 300
[[station.rule]]
name = "flood"
says = "There is too much water."
any = [
  { input = "sump-level", higher_than = 18, slack = 1 },
  { input = "leak", is = "on" },
]
effect = "hold"
release = "by-person"
[[station.rule]]
name = "odd-level"
all = [{ input = "sump-level", outside = [5, 20] }, { input = "ph", lower_than = 8.0 }]
hours = { from = 08:00:00, to = 20:00:00 }
effect = "alert"
)";

std::string with(std::string text, const std::string& from, const std::string& to) {
  const auto at = text.find(from);
  EXPECT_NE(at, std::string::npos) << "the row replaces something that is not there: " << from;
  return at == std::string::npos ? text : text.replace(at, from.size(), to);
}

TEST(OwnerRulesConfig, the_text_that_every_row_breaks_is_valid) {
  const auto config = parse(kGood);
  ASSERT_TRUE(config.has_value()) << config.error().front().to_string("reef.toml");
  EXPECT_TRUE(config->warnings.empty());
  const Station& reef = config->stations.front();
  const OwnerRulebook& book = reef.settings.owner;
  ASSERT_EQ(book.inputs.size(), 5U);
  EXPECT_EQ(book.inputs[0].age_max, std::chrono::seconds{10}) << "as the station's own limit";
  EXPECT_EQ(book.inputs[2].name, "return-pump");
  EXPECT_EQ(book.inputs[2].kind, rules::Input::Kind::digital);
  EXPECT_EQ(book.inputs[2].usual, 1.0);
  EXPECT_EQ(book.inputs[2].age_max, std::chrono::seconds{10});
  EXPECT_EQ(book.inputs[3].unit, "cm");
  EXPECT_EQ(book.inputs[4].age_max, std::chrono::minutes{15});
  ASSERT_EQ(reef.inputs.size(), 3U);
  const auto& level = std::get<ProbeWiring>(reef.inputs[1]).probe;
  EXPECT_EQ(level.table, modbus::Table::input_register);
  EXPECT_EQ(level.scale, 0.1);
  EXPECT_EQ(std::get<MqttTopic>(reef.inputs[2]).topic, "house/sump/leak");
  ASSERT_EQ(book.rules.size(), 3U);
  EXPECT_EQ(sentence_of(book.rules[0], book.inputs),
            "Hold dosing when return-pump is off for 10 s, or at once when nothing is known of it; "
            "dosing may go on once that has been over for 5 min.");
  EXPECT_EQ(sentence_of(book.rules[1], book.inputs),
            "Hold dosing when sump-level is above 18 cm (until it is 17 cm or less) or leak is on, "
            "or at once when nothing is known of them; once it was met, until a person at the "
            "station releases it.");
  EXPECT_EQ(book.rules[2].release_after, std::chrono::seconds{60});
}

TEST(OwnerRulesConfig, every_way_to_compare_can_be_written) {
  for (const char* when :
       {"{ input = 'sump-level', climbing = 2.0, within_min = 30, slack = 0.5 }",
        "{ input = 'sump-level', silent = true }", "{ input = 'leak', silent = true }",
        "{ input = 'sump-level', lower_than = 5 }",
        "{ input = 'temperature', outside = [24, 27.5] }", "{ input = 'leak', is = 'on' }"}) {
    const auto config = parse(with(kGood, "{ input = \"return-pump\", is = \"off\" }", when));
    ASSERT_TRUE(config.has_value()) << when << config.error().front().to_string("reef.toml");
  }
}

/// The leak is wired to a GPIO line.
std::string with_gpio() {
  return with(kGood, "mqtt_topic = \"house/sump/leak\"\nkind = \"digital\"\nmax_age_s = 900",
              "gpio_chip = \"/dev/gpiochip1\"\ngpio_line = 1023\nactive_low = true");
}

TEST(OwnerRulesConfig, a_gpio_line_is_digital) {
  if (!gpio::built_in()) {
    GTEST_SKIP() << "built without GPIO";
  }
  const auto config = parse(with_gpio());
  ASSERT_TRUE(config.has_value()) << config.error().front().to_string("reef.toml");
  const auto& line = std::get<GpioLine>(config->stations[0].inputs[2]);
  EXPECT_EQ(line.chip, "/dev/gpiochip1");
  EXPECT_EQ(line.line.line, 1023U);
  EXPECT_EQ(line.line.polarity, gpio::LineSettings::Polarity::active_low);
  EXPECT_EQ(config->stations[0].settings.owner.inputs[4].kind, rules::Input::Kind::digital);
}

TEST(OwnerRulesConfig, hours_alone_are_a_rule) {
  const auto config = parse(with(kGood, "when = { input = \"return-pump\", is = \"off\" }",
                                 "hours = { from = 22:00:00, to = 06:00:00 }"));
  ASSERT_TRUE(config.has_value()) << config.error().front().to_string("reef.toml");
  ASSERT_EQ(config->warnings.size(), 1U);
  EXPECT_NE(config->warnings[0].find("return-pump: no rule looks at it"), std::string::npos);
}

TEST(OwnerRulesConfig, inputs_of_a_simulated_station_need_no_source) {
  const auto config = parse(R"([daemon]
state_dir = "state"
[[station]]
name = "reef"
simulated = true
water_volume_l = 400
evaporation_ml_per_day = 4000
reactor_bore_mm = 100
pump = { rate_ml_per_min = 50, rate_measured = 2026-11-20 }
plan = { day_volume_ml = 2000 }
stirrer = {}
limits = {}
simulation = {}
input = [{ name = "leak", kind = "digital", usual = "off" }]
rule = [{ name = "leak", when = { input = "leak", is = "on" }, effect = "hold" }]
)");
  ASSERT_TRUE(config.has_value()) << config.error().front().to_string("reef.toml");
}

// tests/portable builds such a program: dosing must not go on without an input that was asked for.
TEST(OwnerRulesConfig, a_gpio_line_is_refused_by_a_program_built_without_gpio) {
  if (gpio::built_in()) {
    GTEST_SKIP() << "built with GPIO";
  }
  const auto config = parse(with_gpio());
  ASSERT_FALSE(config.has_value());
  ASSERT_EQ(config.error().size(), 1U);
  EXPECT_EQ(config.error()[0].to_string("reef.toml"),
            "reef.toml:38: station.reef.input.leak.gpio_chip: can't be read: this program was "
            "built without GPIO");
}

struct Case {
  const char* name;
  const char* from;
  const char* to;
  const char* key;
  const char* what;          ///< part of the sentence
  std::size_t problems = 1;  ///< in all; a rule that names a misnamed input is one more
};
void PrintTo(const Case& row, std::ostream* out) { *out << row.name; }

class BadOwnerRuleTable : public testing::TestWithParam<Case> {};

TEST_P(BadOwnerRuleTable, is_refused_with_its_place_and_what_is_allowed) {
  const Case& row = GetParam();
  if (!gpio::built_in() && std::string_view{row.to}.starts_with("gpio_chip")) {
    GTEST_SKIP() << "built without GPIO";
  }
  const std::string text = with(kGood, row.from, row.to);
  const auto config = parse(text);
  ASSERT_FALSE(config.has_value());
  std::string all;
  for (const Problem& problem : config.error()) {
    all += problem.to_string("reef.toml") + "\n";
  }
  const auto found =
      std::find_if(config.error().begin(), config.error().end(), [&](const Problem& problem) {
        return problem.key == row.key && problem.what.find(row.what) != std::string::npos;
      });
  ASSERT_NE(found, config.error().end()) << all;
  EXPECT_GT(found->line, 19) << "it names a line of the inputs or rules";
  EXPECT_EQ(config.error().size(), row.problems) << all;
}

const Case kCases[] = {
    // Inputs.
    {"input_without_a_name", "name = \"leak\"\n", "", "input[3].name", "is missing"},
    {"input_name_that_is_no_topic", "name = \"return-pump\"", "name = \"Return Pump\"",
     "input[1].name", "a-z, 0-9"},
    {"two_inputs_of_one_name", "name = \"leak\"", "name = \"sump-level\"", "input[3].name",
     "another input has the name 'sump-level'"},
    {"input_named_as_a_probe", "name = \"leak\"", "name = \"ph\"", "input[3].name",
     "station's own probe"},
    {"two_sources", "mqtt_topic = \"house/sump/leak\"\nkind = \"digital\"",
     "mqtt_topic = \"a\"\nbus = \"panel\"\nunit = 3\ntable = \"coil\"\naddress = 1",
     "station.reef.input.leak.mqtt_topic", "can't stand beside bus"},
    {"no_source", "mqtt_topic = \"house/sump/leak\"\n", "", "station.reef.input.leak.bus",
     "is missing: an input comes from a bus, an mqtt_topic or a gpio_chip"},
    {"gpio_beside_a_topic", "mqtt_topic = \"house/sump/leak\"",
     "mqtt_topic = \"house/sump/leak\"\ngpio_chip = \"/dev/gpiochip0\"",
     "station.reef.input.leak.gpio_chip", "can't stand beside mqtt_topic"},
    {"gpio_without_its_line",
     "mqtt_topic = \"house/sump/leak\"\nkind = \"digital\"\nmax_age_s = 900",
     "gpio_chip = \"/dev/gpiochip0\"", "station.reef.input.leak.gpio_line", "is missing"},
    {"gpio_line_below_the_first",
     "mqtt_topic = \"house/sump/leak\"\nkind = \"digital\"\nmax_age_s = 900",
     "gpio_chip = \"/dev/gpiochip0\"\ngpio_line = -1", "station.reef.input.leak.gpio_line",
     "from 0 to 1023"},
    {"gpio_chip_that_is_no_path",
     "mqtt_topic = \"house/sump/leak\"\nkind = \"digital\"\nmax_age_s = 900",
     "gpio_chip = \"gpiochip0\"\ngpio_line = 4", "station.reef.input.leak.gpio_chip",
     "/dev/gpiochip0"},
    {"unknown_bus", "bus = \"panel\"\nunit = 3\ntable = \"discrete_input\"",
     "bus = \"pannel\"\nunit = 3\ntable = \"discrete_input\"", "station.reef.input.return-pump.bus",
     "did you mean 'panel'"},
    {"unknown_table", "\"discrete_input\"", "\"input\"", "station.reef.input.return-pump.table",
     "discrete_input and coil (digital)"},
    {"wildcard_topic", "house/sump/leak", "house/+/leak", "station.reef.input.leak.mqtt_topic",
     "without + and #"},
    {"topic_without_its_age", "max_age_s = 900\n", "", "station.reef.input.leak.max_age_s",
     "is missing"},
    {"age_below_its_bound", "max_age_s = 900", "max_age_s = 9.9",
     "station.reef.input.leak.max_age_s", "outside 10 to 86400"},
    {"age_beyond_its_bound", "max_age_s = 900", "max_age_s = 86401",
     "station.reef.input.leak.max_age_s", "outside 10 to 86400"},
    {"topic_without_a_kind", "kind = \"digital\"\n", "", "station.reef.input.leak.kind",
     "digital, analogue"},
    {"usual_that_is_missing", "usual = \"on\"\n", "", "station.reef.input.return-pump.usual",
     "is missing"},
    {"usual_of_a_switch_as_a_number", "usual = \"on\"", "usual = 1",
     "station.reef.input.return-pump.usual", "must be a text"},
    {"usual_of_a_number_as_a_text", "usual = 12", "usual = \"on\"",
     "station.reef.input.sump-level.usual", "must be a number"},
    {"usual_not_a_number", "usual = 12", "usual = nan", "station.reef.input.sump-level.usual",
     "outside"},
    {"unknown_key_of_an_input", "unit_name", "unit_nam", "station.reef.input.sump-level.unit_nam",
     "did you mean 'unit_name'"},
    // Rules.
    {"unknown_input", "input = \"return-pump\"", "input = \"retrun-pump\"",
     "station.reef.rule.return-pump-stopped.when.input", "did you mean 'return-pump'"},
    {"unknown_input_among_others", "input = \"leak\", is", "input = \"leek\", is",
     "station.reef.rule.flood.any[2].input", "did you mean 'leak'"},
    {"probe_that_is_misspelt", "input = \"ph\"", "input = \"hp\"",
     "station.reef.rule.odd-level.all[2].input", "did you mean 'ph'"},
    {"two_rules_of_one_name", "name = \"flood\"", "name = \"return-pump-stopped\"", "rule[2].name",
     "another rule has the name"},
    {"rule_name_that_is_no_code", "name = \"flood\"", "name = \"Flood!\"", "rule[2].name",
     "a-z, 0-9"},
    {"rule_name_that_ends_as_a_code", "name = \"flood\"", "name = \"flood-unknown\"",
     "rule[2].name", "must not end in -unknown"},
    {"effect_that_is_missing", "effect = \"alert\"\n", "", "station.reef.rule.odd-level.effect",
     "is missing; allowed: hold, alert"},
    {"effect_that_opens", "effect = \"alert\"", "effect = \"dose\"",
     "station.reef.rule.odd-level.effect", "allowed: hold, alert"},
    {"unknown_release", "\"by-person\"", "\"by-me\"", "station.reef.rule.flood.release",
     "by-itself, by-person"},
    {"unknown_key_of_a_rule", "lasting_s = 10", "lasting_sec = 10",
     "station.reef.rule.return-pump-stopped.lasting_sec", "did you mean 'lasting_s'"},
    {"time_beyond_its_bound", "lasting_s = 10", "lasting_s = 86401",
     "station.reef.rule.return-pump-stopped.lasting_s", "outside 0 to 86400"},
    {"release_beyond_its_bound", "release_after_s = 300", "release_after_s = 21601",
     "station.reef.rule.return-pump-stopped.release_after_s", "outside 0 to 21600"},
    {"nothing_to_compare_with", ", is = \"off\"", "",
     "station.reef.rule.return-pump-stopped.when.input", "is compared with nothing"},
    {"two_comparisons_in_one", "is = \"off\"", "is = \"off\", silent = true",
     "station.reef.rule.return-pump-stopped.when.silent", "can't stand beside is"},
    {"unknown_way_to_compare", "is = \"off\"", "is = \"off\", higher_tha = 3",
     "station.reef.rule.return-pump-stopped.when.higher_tha", "did you mean 'higher_than'", 2},
    {"a_switch_compared_as_a_number", "is = \"off\"", "lower_than = 1",
     "station.reef.rule.return-pump-stopped.when.lower_than", "return-pump is on or off"},
    {"a_number_compared_as_a_switch", "higher_than = 18, slack = 1", "is = \"on\"",
     "station.reef.rule.flood.any[1].is", "sump-level is a number"},
    {"state_that_is_none", "is = \"off\"", "is = \"stopped\"",
     "station.reef.rule.return-pump-stopped.when.is", "off, on"},
    {"limit_of_a_wrong_type", "higher_than = 18", "higher_than = \"18\"",
     "station.reef.rule.flood.any[1].higher_than", "must be a number"},
    {"limit_not_a_number", "higher_than = 18", "higher_than = nan",
     "station.reef.rule.flood.any[1].higher_than", "outside"},
    {"range_upside_down", "[5, 20]", "[20, 5]", "station.reef.rule.odd-level.all[1].outside",
     "the second above the first"},
    {"range_of_nothing", "[5, 20]", "[5, 5]", "station.reef.rule.odd-level.all[1].outside",
     "the second above the first"},
    {"range_of_three", "[5, 20]", "[5, 20, 30]", "station.reef.rule.odd-level.all[1].outside",
     "[low, high]"},
    {"slack_that_leaves_nothing", "[5, 20]", "[5, 20], slack = 7.5",
     "station.reef.rule.odd-level.all[1].slack", "never be over"},
    {"slack_below_zero", "slack = 1", "slack = -1", "station.reef.rule.flood.any[1].slack",
     "outside 0"},
    {"delay_of_a_release_by_person", "release = \"by-person\"",
     "release = \"by-person\"\nrelease_after_s = 60", "station.reef.rule.flood.release_after_s",
     "belongs to release = \"by-itself\" only"},
    {"climb_without_its_window", "higher_than = 18, slack = 1", "climbing = 2",
     "station.reef.rule.flood.any[1].within_min", "is missing"},
    {"climb_beyond_its_window", "higher_than = 18, slack = 1", "climbing = 2, within_min = 61",
     "station.reef.rule.flood.any[1].within_min", "outside 1 to 60"},
    {"climb_that_falls", "higher_than = 18, slack = 1", "climbing = -2, within_min = 30",
     "station.reef.rule.flood.any[1].climbing", "a climb goes up"},
    {"slack_of_a_whole_climb", "higher_than = 18, slack = 1",
     "climbing = 2, within_min = 30, slack = 2", "station.reef.rule.flood.any[1].slack",
     "never be over"},
    {"silence_that_is_not_asked_for", "is = \"off\"", "silent = false",
     "station.reef.rule.return-pump-stopped.when.silent", "can only be true"},
    {"two_conditions", "lasting_s = 10\n", "all = [{ input = \"leak\", is = \"on\" }]\n",
     "station.reef.rule.return-pump-stopped.all", "can't stand beside when"},
    {"no_condition", "when = { input = \"return-pump\", is = \"off\" }\n", "",
     "station.reef.rule.return-pump-stopped.when", "is missing"},
    {"a_condition_that_is_no_table", "when = { input = \"return-pump\", is = \"off\" }",
     "all = { input = \"return-pump\", is = \"off\" }", "station.reef.rule.return-pump-stopped.all",
     "must be written as"},
    {"hours_in_quotes", "{ from = 08:00:00, to = 20:00:00 }", "\"08:00-20:00\"",
     "station.reef.rule.odd-level.hours", "from = 22:00:00"},
    {"met_at_the_usual_value", "is = \"off\"", "is = \"on\"",
     "station.reef.rule.return-pump-stopped.name", "met at the usual values"},
    {"met_at_one_of_the_usual_values", "higher_than = 18, slack = 1", "higher_than = 11",
     "station.reef.rule.flood.name", "met at the usual values"},
    {"usual_within_the_slack", "higher_than = 18, slack = 1", "higher_than = 13, slack = 2",
     "station.reef.rule.flood.name", "within the slack"},
    {"a_sentence_of_two_lines", "There is too much water.", "There is\\nwater.",
     "station.reef.rule.flood.says", "one line"},
};
INSTANTIATE_TEST_SUITE_P(, BadOwnerRuleTable, testing::ValuesIn(kCases),
                         [](const auto& row) { return std::string{row.param.name}; });

TEST(OwnerRulesConfig, a_topic_needs_a_broker) {
  const auto config = parse(with(kGood, "[mqtt]\nbroker = \"mqtt://localhost\"\n", ""));
  ASSERT_FALSE(config.has_value());
  EXPECT_NE(config.error().front().what.find("needs a broker"), std::string::npos);
}

TEST(OwnerRulesConfig, there_are_at_most_32_of_each) {
  std::string inputs;
  std::string rules;
  for (int i = 0; i < 30; ++i) {
    const std::string name = "more-" + std::to_string(i);
    inputs += "[[station.input]]\nname = \"";
    inputs += name;
    inputs += "\"\nbus = \"panel\"\nunit = 4\ntable = \"coil\"\naddress = 1\nusual = \"on\"\n";
    rules += "[[station.rule]]\nname = \"";
    rules += name;
    rules += "\"\nwhen = { input = \"";
    rules += name;
    rules += "\", is = \"off\" }\neffect = \"hold\"\n";
  }
  const auto config = parse(kGood + inputs + rules);
  ASSERT_FALSE(config.has_value());
  ASSERT_EQ(config.error().size(), 2U);
  for (const Problem& problem : config.error()) {
    EXPECT_NE(problem.what.find("33"), std::string::npos);
  }
}

TEST(OwnerRulesConfig, a_climb_within_less_than_its_values_come_in_is_refused) {
  const std::string rare = with(kGood, "usual = 12\n", "usual = 12\nmax_age_s = 1800\n");
  EXPECT_TRUE(parse(with(rare, "higher_than = 18, slack = 1", "climbing = 2, within_min = 31")));
  const auto config =
      parse(with(rare, "higher_than = 18, slack = 1", "climbing = 2, within_min = 30"));
  ASSERT_FALSE(config);
  EXPECT_NE(config.error().front().what.find("must be longer than the input's max_age_s"),
            std::string::npos);
}

}  // namespace
}  // namespace limegate::config
