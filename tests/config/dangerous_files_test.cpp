// Files that would harm, or do nothing, and what `limegate check` says of each; beside odd files
// that are right and are not asked about. The table in dangerous_files.txt is made by this test:
//   LIMEGATE_MANUAL=write build/release/tests/test_config --gtest_filter='DangerousFiles.*'

#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <regex>
#include <set>
#include <sstream>
#include <string>
#include <utility>
#include <vector>

#include <gtest/gtest.h>

#include "config/good_file.h"
#include "config/load.h"
#include "config/nearest.h"
#include "config/question.h"
#include "config/table_reader.h"
#include "support/places.h"
#include "support/program.h"

namespace limegate::config {
namespace {

using Change = std::pair<std::string, std::string>;

std::string changed(const std::vector<Change>& changes) {
  std::string text = kGood;
  for (const auto& [from, to] : changes) {
    const auto at = text.find(from);
    EXPECT_NE(at, std::string::npos) << "nothing to replace: " << from;
    if (at != std::string::npos) {
      text.replace(at, from.size(), to);
    }
  }
  return text;
}

/// What `check` says: the problems, or the questions.
std::string said_of(const std::string& text) {
  const auto config = parse(text);
  std::string said;
  if (!config) {
    for (const Problem& problem : config.error()) {
      said += "  " + problem.to_string("reef.toml") + "\n";
    }
    return said;
  }
  for (const Question& question : questions_of(*config).open) {
    said += "  asks " + question.id + ": " + question.sentence + "\n";
  }
  return said;
}

struct Row {
  const char* name;
  std::vector<Change> changes;
  const char* says;  ///< a part of it
};

const Change kSerial{"type = \"modbus-tcp\"\nhost = \"127.0.0.1\"",
                     "type = \"modbus-rtu\"\npath = \"/dev/serial/by-id/x\"\nbaud = 2400"};
const Change kTightBounds{
    "settle_min = 60",
    "settle_min = 20\nph_ceiling = 8.6\nph_second_ceiling = 8.7\nph_climb = 0.2\n"
    "ph_unusual_climb = 0.12\nph_rise = 0.3\nmax_hour_rise_ph = 0.15\nreading_age_s = 60"};

/// Before the reef's own tables: another station with a board of its own, and the reef's probe.
const char* const kOtherTank =
    "ph = { bus = \"panel\", unit = 1, address = 0, scale = 0.01 }\n"
    "temperature = { bus = \"panel\", unit = 1, address = 10, scale = 0.1 }\n"
    "pump = { bus = \"panel\", unit = 3, address = 0, timed_on_register = 10, rate_ml_per_min = "
    "50, "
    "rate_measured = 2026-11-20 }\n"
    "stirrer = { bus = \"panel\", unit = 3, address = 1, timed_on_register = 11 }\n"
    "[[station]]\nname = \"frags\"\nwater_volume_l = 400\nevaporation_ml_per_day = 4000\n"
    "reactor_bore_mm = 100\n[station.ph]";

// A row a file.
// NOLINTNEXTLINE(readability-function-size)
const std::vector<Row>& dangerous() {
  static const std::vector<Row> rows{
      {"a tank ten times too small",
       {{"l = 400", "l = 40"}, {"= 2000", "= 300"}},
       "asks evaporation"},
      {"a tank ten times too large", {{"l = 400", "l = 4000"}}, "asks evaporation"},
      {"a tank of a bucket",
       {{"l = 400", "l = 10"}, {"day = 4000", "day = 200"}, {"= 2000", "= 80"}},
       "asks water-volume"},
      {"a tank of a pond",
       {{"l = 400", "l = 9000"}, {"day = 4000", "day = 40000"}},
       "asks water-volume"},
      {"a tank of a lake, of which all evaporates",
       {{"l = 400", "l = 100000"}, {"day = 4000", "day = 2000000"}},
       "asks water-volume: 100000 L"},
      {"a tank of which all evaporates",
       {{"l = 400", "l = 40"}, {"day = 4000", "day = 40000"}, {"= 2000", "= 300"}},
       "40000 mL of 40 L, 100 %"},
      {"gallons for litres",
       {{"l = 400", "l = 120"}, {"day = 4000", "day = 4000"}, {"= 2000", "= 1000"}},
       "asks gallons"},
      {"evaporation ten times too much", {{"day = 4000", "day = 40000"}}, "asks evaporation"},
      {"evaporation in litres", {{"day = 4000", "day = 4"}, {"= 2000", "= 2"}}, "asks evaporation"},
      {"a bore in centimetres", {{"mm = 100", "mm = 10"}}, "reactor_bore_mm: 10 is outside"},
      {"a bore ten times too wide", {{"mm = 100", "mm = 1000"}}, "asks reactor-bore"},
      {"a pump ten times too quick", {{"min = 50", "min = 500"}}, "asks pump-rate"},
      {"a pump ten times too slow",
       {{"min = 50", "min = 5"}, {"= 2000", "= 1200"}},
       "asks pump-share"},
      {"a pump in litres an hour",
       {{"min = 50", "min = 0.5"}, {"= 2000", "= 100"}},
       "asks pump-rate"},
      {"pulses below a second", {{"= 2000", "= 100\nmax_pulse_ml = 0.5"}}, "asks short-pulse"},
      {"a pulse of four minutes",
       {{"min = 50", "min = 20"}, {"= 2000", "= 1000\nmax_pulse_ml = 80"}},
       "asks long-pulse"},
      {"a relay worn in a year", {{"= 2000", "= 800\nmax_pulse_ml = 3"}}, "asks relay-life"},
      {"a settle time below practice",
       {{"settle_min = 60", "settle_min = 30"}},
       "asks settle-time"},
      {"a settle time of milk", {{"settle_min = 60", "settle_min = 5"}}, "outside 20 to 600"},
      {"every limit at its bound", {kTightBounds}, "asks limits-at-bounds"},
      {"a band the wrong way round",
       {{"settle_min = 60", "temperature_low_c = 28\ntemperature_high_c = 22"}},
       "asks temperature-band"},
      {"one timer for pump and stirrer", {{"register = 11", "register = 10"}}, "asks shared-timer"},
      {"the pump's timer at the stirrer's switch",
       {{"address = 1\ntimed_on_register = 11",
         "table = \"holding_register\"\naddress = 10\ntimed_on_register = 11"}},
       "asks shared-timer"},
      {"silence written into a timer",
       {{"register = 10",
         "register = 10\ncommunication_loss_register = 11\ncommunication_loss_value = 5"}},
       "asks timer-as-loss"},
      {"silence written into its own timer",
       {{"register = 10",
         "register = 10\ncommunication_loss_register = 10\ncommunication_loss_value = 5"}},
       "asks timer-as-loss"},
      {"pH read from the pump's timer",
       {{"unit = 1\naddress = 0\nscale", "unit = 2\naddress = 10\nscale"}},
       "asks probe-at-outlet"},
      {"a pH in tenths", {{"scale = 0.01", "scale = 0.1"}}, "asks ph-scale"},
      {"feedback at the stirrer's coil",
       {{"register = 10", "register = 10\nfeedback_table = \"coil\"\nfeedback_address = 1"}},
       "asks feedback-of-another"},
      {"one contact for both",
       {{"register = 10",
         "register = 10\nfeedback_table = \"discrete_input\"\nfeedback_address = 3"},
        {"register = 11",
         "register = 11\nfeedback_table = \"discrete_input\"\nfeedback_address = 3"}},
       "asks feedback-of-another"},
      {"pH and temperature on one register",
       {{"address = 10\nscale", "address = 0\nscale"}},
       "asks one-register"},
      {"temperature in the second word of the pH",
       {{"scale = 0.01", "encoding = \"float32\""}, {"address = 10\nscale", "address = 1\nscale"}},
       "asks one-register"},
      {"a second probe that is the first",
       {{"[station.temperature]",
         "[station.second_ph]\nbus = \"panel\"\nunit = 1\naddress = 0\nscale = 0.01\n"
         "[station.temperature]"}},
       "asks second-probe"},
      {"an address of a manual, holding",
       {{"address = 0\nscale", "address = 40001\nscale"}},
       "asks register-numbers"},
      {"an address of a manual, input",
       {{"address = 0\nscale", "table = \"input_register\"\naddress = 30001\nscale"}},
       "asks register-numbers"},
      {"an address of a manual, of another table",
       {{"address = 0\nscale", "address = 30001\nscale"}},
       "asks register-numbers"},
      {"a feedback's address of a manual",
       {{"register = 10",
         "register = 10\nfeedback_table = \"discrete_input\"\nfeedback_address = 10001"}},
       "asks register-numbers"},
      {"an address of a manual for the board's silence",
       {{"register = 10",
         "register = 10\ncommunication_loss_register = 40031\ncommunication_loss_value = 5"}},
       "asks register-numbers"},
      {"an address of a manual for an input",
       {{"[station.plan]",
         "[[station.input]]\nname = \"leak\"\nbus = \"panel\"\nunit = 3\n"
         "table = \"discrete_input\"\naddress = 10004\nusual = \"off\"\n[station.plan]"}},
       "asks register-numbers"},
      {"a timer's address of a manual",
       {{"register = 10", "register = 40011"}},
       "asks register-numbers"},
      {"a word order of one word",
       {{"scale = 0.01", "scale = 0.01\nword_order = \"cdab\""}},
       "asks word-order"},
      {"a pH of whole numbers", {{"scale = 0.01", "scale = 1"}}, "asks ph-scale"},
      {"a pH that ends at 6.55", {{"scale = 0.01", "scale = 0.0001"}}, "asks ph-scale"},
      {"a pH below zero", {{"scale = 0.01", "scale = -0.01"}}, "asks ph-scale"},
      {"a temperature in steps of ten", {{"scale = 0.1", "scale = 10"}}, "asks temperature-scale"},
      {"a temperature that ends at 6.55",
       {{"scale = 0.1", "scale = 0.0001"}},
       "asks temperature-scale"},
      {"a line too slow for its probes",
       {kSerial,
        {"[station.temperature]",
         "[station.second_ph]\nbus = \"panel\"\nunit = 3\naddress = 0\nscale = 0.01\n"
         "[station.temperature]"}},
       "asks slow-line"},
      {"a timeout that no answer keeps",
       {{"type = \"modbus-tcp\"\nhost = \"127.0.0.1\"",
         "type = \"modbus-rtu\"\npath = \"/dev/serial/by-id/x\"\nbaud = 9600\n"
         "reply_timeout_ms = 20"}},
       "asks reply-timeout"},
      {"two tanks on one probe", {{"[station.ph]", kOtherTank}}, "asks shared-probe"},
      {"a certificate that is missing",
       {{"[[bus]]", "[mqtt]\nbroker = \"mqtts://host\"\nca_file = \"/nowhere/ca.pem\"\n[[bus]]"}},
       "asks mqtt-files"},
      {"a directory for a password",
       {{"[[bus]]",
         "[mqtt]\nbroker = \"mqtts://host\"\nuser = \"u\"\npassword_file = \"/\"\n[[bus]]"}},
       "asks mqtt-files"},
      {"a directory for a mail server's password",
       {{"[[bus]]",
         "[[deliver.mail]]\nname = \"mail\"\nserver = \"h\"\nfrom = \"a@b\"\nto = \"a@b\"\n"
         "user = \"u\"\npassword_file = \"/\"\n[[bus]]"}},
       "asks deliver-files"},
      {"a mail server's certificate that is missing",
       {{"[[bus]]",
         "[[deliver.mail]]\nname = \"mail\"\nserver = \"h\"\nfrom = \"a@b\"\nto = \"a@b\"\n"
         "ca_file = \"/nowhere/ca.pem\"\n[[bus]]"}},
       "asks deliver-files"},
      {"a page's token that is missing",
       {{"[[bus]]", "[page]\ntoken_file = \"/nowhere/token\"\n[[bus]]"}},
       "asks page-files"},
      {"a bore that is no number", {{"mm = 100", "mm = nan"}}, "reactor_bore_mm: nan is outside"},
      {"a pump's table misspelt", {{"[station.pump]", "[station.pumpe]"}}, "did you mean 'pump'"},
      {"a port by its short name", {{"host =", "port = 502\nhost ="}}, "did you mean 'tcp_port'"},
      {"a password in the file",
       {{"[[bus]]", "[mqtt]\nbroker = \"mqtts://host\"\nuser = \"u\"\npassword = \"x\"\n[[bus]]"}},
       "did you mean 'password_file'"},
      {"an answer that is no question's",
       {{"mm = 100", "mm = 100\nconfirmed = [\"water-volum\"]"}},
       "did you mean 'water-volume'"},
  };
  return rows;
}

const std::vector<Row>& odd_but_right() {
  static const std::vector<Row> rows{
      {"a small tank",
       {{"l = 400", "l = 25"}, {"day = 4000", "day = 400"}, {"= 2000", "= 150"}},
       ""},
      {"a large tank", {{"l = 400", "l = 5000"}, {"day = 4000", "day = 40000"}}, ""},
      {"a size of the trade in litres",
       {{"l = 400", "l = 180"}, {"day = 4000", "day = 1800"}, {"= 2000", "= 900"}},
       ""},
      {"little evaporates", {{"day = 4000", "day = 1200"}, {"= 2000", "= 600"}}, ""},
      {"much evaporates", {{"day = 4000", "day = 20000"}}, ""},
      {"a wide reactor", {{"mm = 100", "mm = 400"}}, ""},
      {"a slow pump", {{"min = 50", "min = 20"}}, ""},
      {"a pulse of nearly two minutes",
       {{"min = 50", "min = 20"}, {"= 2000", "= 1000\nmax_pulse_ml = 40"}},
       ""},
      {"a quick pump", {{"min = 50", "min = 250"}}, ""},
      {"nothing is dosed", {{"= 2000", "= 0"}}, ""},
      {"a long settle", {{"settle_min = 60", "settle_min = 90"}}, ""},
      {"every limit tight", {{"settle_min = 60", "ph_ceiling = 8.3\nph_climb = 0.06"}}, ""},
      {"a narrow band",
       {{"settle_min = 60", "temperature_low_c = 24\ntemperature_high_c = 27"}},
       ""},
      {"a float", {{"scale = 0.01", "encoding = \"float32\"\nword_order = \"cdab\""}}, ""},
      {"a pH of three digits", {{"scale = 0.01", "scale = 0.001"}}, ""},
      {"a pH upside down", {{"scale = 0.01", "scale = -0.01\noffset = 14"}}, ""},
      {"a high address", {{"address = 0\nscale", "address = 9000\nscale"}}, ""},
      {"a temperature of whole degrees", {{"scale = 0.1", "scale = 1"}}, ""},
      {"a temperature in Fahrenheit", {{"scale = 0.1", "scale = 0.1\nfahrenheit = true"}}, ""},
      {"contacts of their own",
       {{"register = 10",
         "register = 10\nfeedback_table = \"discrete_input\"\nfeedback_address = 0"},
        {"register = 11",
         "register = 11\nfeedback_table = \"discrete_input\"\nfeedback_address = 1"}},
       ""},
      {"the board's silence in a register of its own",
       {{"register = 10",
         "register = 10\ncommunication_loss_register = 30\ncommunication_loss_value = 5"}},
       ""},
      {"a slow line with few probes",
       {{"type = \"modbus-tcp\"\nhost = \"127.0.0.1\"",
         "type = \"modbus-rtu\"\npath = \"/dev/serial/by-id/x\"\nbaud = 9600"}},
       ""},
      {"a second probe of another unit",
       {{"[station.temperature]",
         "[station.second_ph]\nbus = \"panel\"\nunit = 3\naddress = 0\nscale = 0.01\n"
         "[station.temperature]"}},
       ""},
      {"a short settle that is confirmed",
       {{"settle_min = 60", "settle_min = 30"},
        {"mm = 100", "mm = 100\nconfirmed = [\"settle-time\"]"}},
       ""},
  };
  return rows;
}

TEST(DangerousFiles, are_each_told_or_asked_about) {
  ASSERT_GE(dangerous().size(), 40U);
  std::string table =
      "Dangerous or useless files, and what `limegate check` says of them. Made by\n"
      "tests/config/dangerous_files_test.cpp, which says how.\n\n";
  for (const Row& row : dangerous()) {
    const std::string said = said_of(changed(row.changes));
    EXPECT_NE(said.find(row.says), std::string::npos) << row.name << " says\n" << said;
    table += std::string{row.name} + "\n" + said;
  }
  const std::string path = test::source_dir() + "/tests/config/dangerous_files.txt";
  if (const char* mode = std::getenv("LIMEGATE_MANUAL");  // NOLINT(concurrency-mt-unsafe)
      mode != nullptr && mode == std::string{"write"}) {
    test::write_file(path, table);
  }
  EXPECT_EQ(test::read_file(path), table);
}

TEST(DangerousFiles, odd_ones_that_are_right_are_not_asked_about) {
  ASSERT_GE(odd_but_right().size(), 20U);
  EXPECT_EQ(said_of(kGood), "");
  for (const Row& row : odd_but_right()) {
    EXPECT_EQ(said_of(changed(row.changes)), "") << row.name;
  }
}

TEST(DangerousFiles, hold_one_for_each_question) {
  std::set<std::string> asked;
  for (const Row& row : dangerous()) {
    if (const auto config = parse(changed(row.changes))) {
      for (const Question& question : questions_of(*config).open) {
        asked.insert(question.id);
      }
    }
  }
  for (const QuestionRow& row : question_rows()) {
    EXPECT_EQ(asked.count(row.id), 1U) << row.id << " is asked of no file here";
  }
}

TEST(Question, names_the_line_that_answers_it_and_takes_it) {
  const auto config = parse(changed({{"settle_min = 60", "settle_min = 30"}}));
  ASSERT_TRUE(config);
  const Questions before = questions_of(*config);
  ASSERT_EQ(before.open.size(), 1U);
  EXPECT_EQ(before.open[0].key, "station.reef.limits.settle_min");
  EXPECT_EQ(before.open[0].answer, "confirmed = [\"settle-time\"] in the [[station]] named reef");
}

TEST(Question, an_answer_that_nobody_asked_for_is_a_warning) {
  const auto config = parse(changed({{"mm = 100", "mm = 100\nconfirmed = [\"settle-time\"]"}}));
  ASSERT_TRUE(config);
  const Questions questions = questions_of(*config);
  EXPECT_TRUE(questions.open.empty());
  ASSERT_EQ(questions.warnings.size(), 1U);
  EXPECT_NE(questions.warnings[0].find("station.reef.confirmed: 'settle-time'"), std::string::npos);
}

const char* const kPumpTable =
    "[station.pump]\nbus = \"panel\"\nunit = 2\naddress = 0\ntimed_on_register = 10\n"
    "rate_ml_per_min = 50\nrate_measured = 2026-11-20\n";
const char* const kStirrerTable =
    "[station.stirrer]\nbus = \"panel\"\nunit = 2\naddress = 1\ntimed_on_register = 11\n";
const char* const kTemperatureTable =
    "[station.temperature]\nbus = \"panel\"\nunit = 1\naddress = 10\nscale = 0.1\n";

TEST(Problems, of_one_cause_are_one) {
  const std::vector<Row> causes{
      {"a bore that is no number", {{"mm = 100", "mm = nan"}}, ""},
      {"a tank that is no number", {{"l = 400", "l = inf"}}, ""},
      {"an evaporation that is missing", {{"evaporation_ml_per_day = 4000\n", ""}}, ""},
      {"a pump of no rate", {{"min = 50", "min = 0"}}, ""},
      {"milk", {{"settle_min = 60", "settle_min = 5"}}, ""},
      {"a misspelt pump", {{"[station.pump]", "[station.pumpe]"}}, ""},
      {"a misspelt probe", {{"[station.ph]", "[station.pH]"}}, ""},
      {"a misspelt list", {{"[[bus]]", "[[buss]]"}}, ""},
      {"no table of the pump", {{kPumpTable, ""}}, ""},
      {"no table of the stirrer", {{kStirrerTable, ""}}, ""},
      {"no table of the temperature", {{kTemperatureTable, ""}}, ""},
      {"a number for the pump's table", {{kPumpTable, ""}, {"mm = 100", "mm = 100\npump = 5"}}, ""},
      {"a number for the limits",
       {{"[station.limits]\nsettle_min = 60\n", ""}, {"mm = 100", "mm = 100\nlimits = 5"}},
       ""},
      {"no table of the daemon", {{"[daemon]\nstate_dir = \"state\"\n", ""}}, ""},
  };
  for (const Row& cause : causes) {
    const auto config = parse(changed(cause.changes));
    ASSERT_FALSE(config) << cause.name;
    EXPECT_EQ(config.error().size(), 1U) << cause.name << "\n" << said_of(changed(cause.changes));
    EXPECT_GT(config.error()[0].line, 0) << cause.name;
  }
}

struct Slip {
  std::string name, text;
};

/// Each line with a key of each example spoilt: a letter left out, one too many, and a list where
/// none belongs; and each heading with a letter too many.
std::vector<Slip> slips() {
  std::vector<Slip> all;
  static const std::regex key{R"((\s*)([a-z_]{3,})(\s*=.*))"},
      heading{R"(\[+[a-z._]*[a-z]{3,}(\]+))"};
  for (const auto& file :
       std::filesystem::directory_iterator{test::source_dir() + "/config/examples"}) {
    std::istringstream stream{test::read_file(file.path().string())};
    std::vector<std::string> lines;
    for (std::string line; std::getline(stream, line);) {
      lines.push_back(line);
    }
    const auto add = [&](std::size_t at, const std::string& instead) {
      std::string text;
      for (std::size_t i = 0; i < lines.size(); ++i) {
        text += (i == at ? instead : lines[i]) + "\n";
      }
      all.push_back({file.path().filename().string() + ":" + std::to_string(at + 1) + " " + instead,
                     std::move(text)});
    };
    for (std::size_t i = 0; i < lines.size(); ++i) {
      std::smatch found;
      if (std::regex_match(lines[i], found, key)) {
        add(i, found.str(1) + found.str(2).substr(1) + found.str(3));
        add(i, found.str(1) + found.str(2) + "x" + found.str(3));
        add(i, found.str(1) + found.str(2) + " = [[]]");
      } else if (std::regex_match(lines[i], found, heading)) {
        add(i, std::string{lines[i]}.insert(lines[i].size() - found.str(1).size(), "x"));
      }
    }
  }
  return all;
}

TEST(Problems, of_one_slip_anywhere_in_an_example_are_one) {
  const std::vector<Slip> all = slips();
  ASSERT_GE(all.size(), 800U);
  for (const Slip& slip : all) {
    const auto config = parse(slip.text);
    ASSERT_FALSE(config) << slip.name;
    EXPECT_EQ(config.error().size(), 1U) << slip.name << "\n" << said_of(slip.text);
  }
}

TEST(Problems, of_a_bus_that_nobody_has_are_one) {
  const std::string said = said_of(changed({{"name = \"panel\"", "name = \"cellar\""}}));
  EXPECT_EQ(said, "  reef.toml:13: station.reef.ph.bus: no [[bus]] is named 'panel'\n");
}

TEST(Problems, of_a_table_that_is_missing_name_what_belongs_into_it) {
  EXPECT_EQ(said_of(changed({{kPumpTable, ""}})),
            "  reef.toml:7: station.reef.pump: this table is missing. It is written as "
            "[station.pump], and needs bus, unit, address, rate_ml_per_min\n");
  // Two at once are two, and no switch point is told to be another's.
  const auto config = parse(changed({{kPumpTable, ""}, {kStirrerTable, ""}}));
  ASSERT_FALSE(config);
  EXPECT_EQ(config.error().size(), 2U);
  // Without a key that it needs, what contradicts its defaults is told all the same.
  const auto high = parse(changed({{"[station.limits]\nsettle_min = 60\n", ""},
                                   {"mm = 100", "mm = 100\nreference_ph = 8.45"}}));
  ASSERT_FALSE(high);
  ASSERT_EQ(high.error().size(), 1U);
  EXPECT_EQ(high.error()[0].key, "station.reef.limits.ph_ceiling_resume");
}

TEST(Nearest, finds_the_key_of_which_a_word_is_a_part) {
  EXPECT_EQ(nearest("port", {"tcp_port", "host"}), "tcp_port");
  EXPECT_EQ(nearest("password", {"user", "password_credential", "password_file"}), "password_file");
  EXPECT_EQ(nearest("ort", {"tcp_port", "reporting"}), "");
}

// Found by a review: "stop" led to "stir", and the commonest slip to nothing.
TEST(Nearest, takes_two_letters_that_changed_places_for_one_slip_and_guesses_no_short_word) {
  EXPECT_EQ(nearest("pmup", {"plan", "pump", "ph"}), "pump");
  EXPECT_EQ(nearest("sttaion", {"station", "bus"}), "station");
  EXPECT_EQ(edit_distance("deamon", "daemon"), 1U);
  EXPECT_EQ(nearest("stop", {"stir", "status", "off"}), "");
  EXPECT_EQ(nearest("temp", {"pump", "temperature"}), "");
}

TEST(Answers, may_be_none) {
  std::string text = kGood;
  text.insert(text.find("[station.ph]"), "confirmed = []\n");
  EXPECT_TRUE(parse(text));
}

}  // namespace
}  // namespace limegate::config
