// The page that a keeper signs, of the shipped examples by the built program.

#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <regex>
#include <sstream>
#include <string>
#include <vector>

#include <gtest/gtest.h>
#include <nlohmann/json.hpp>
#include <sys/stat.h>

#include "support/places.h"
#include "support/program.h"

namespace limegate::test {
namespace {

std::string example(const std::string& name) {
  return read_file(source_dir() + "/config/examples/" + name + ".toml");
}

using Change = std::pair<std::string, std::string>;

Ran check(const std::string& text, const std::vector<Change>& changes = {},
          std::vector<std::string> more = {}) {
  const TempDir folder;
  const std::string file = folder.path() + "/reef.toml";
  std::string changed = text;
  for (const auto& [from, to] : changes) {
    const auto at = changed.find(from);
    EXPECT_NE(at, std::string::npos) << from;
    if (at != std::string::npos) {
      changed.replace(at, from.size(), to);
    }
  }
  write_file(file, changed);
  more.insert(more.begin(), {limegate_path(), "check", file});
  return run_program(more);
}

void expect_lines(const Ran& ran, const std::vector<std::string>& lines) {
  for (const std::string& line : lines) {
    EXPECT_TRUE(contains(ran.output, line)) << "without: " << line << "\n" << ran.output;
  }
}

TEST(CheckPage, reads_back_the_wiring_in_words) {
  const Ran ran = check(example("tcp-timed-board"));
  EXPECT_EQ(ran.code, 0) << ran.output;
  expect_lines(ran, {"    bus panel: 192.168.10.20:502\n",
                     "    ph: panel, unit 1, input register 0: 812 reads as pH 8.12\n",
                     "    temperature: panel, unit 1, input register 1: 255 reads as 25.5 °C\n",
                     // NOLINTNEXTLINE(bugprone-suspicious-missing-comma): one text of four lines
                     "    pump: panel, unit 2, coil 0: 1 is on, 0 is off\n"
                     "      read back at discrete input 0: 1 is on, 0 is off\n"
                     "      the board ends each run: register 10 counts steps of 100 ms\n"
                     "      the board goes off when it hears nothing: register 30 is set to 5\n",
                     "    stirrer: panel, unit 2, coil 1: 1 is on, 0 is off\n"
                     "      read back where it is switched"});
}

TEST(CheckPage, reads_back_what_turns_an_outlet_or_a_number_round) {
  const Ran low = check(example("untimed-active-low"));
  expect_lines(low,
               {"coil 0: 0 is on, 1 is off\n", "'limegate off', where the contact still opens"});
  EXPECT_FALSE(contains(low.output, "the board ends each run")) << low.output;
  const Ran line = check(example("rtu-shared-line"));
  expect_lines(line, {" baud, ", "to read all its probes once takes about "});
  // Wrong by a factor of ten the page shows what it comes to, beside the question.
  const Ran scale = check(example("tcp-timed-board"), {{"scale = 0.01 ", "scale = 0.1 "}});
  expect_lines(scale, {"81 reads as pH 8.10"});
  const Ran whole = check(example("tcp-timed-board"), {{"scale = 0.01 ", "scale = -1 "}});
  expect_lines(whole, {"0 reads as pH 0.00"});
  const Ran swapped = check(example("tcp-timed-board"),
                            {{"encoding = \"uint16\"\nscale = 0.01 ",
                              "encoding = \"float32\"\nword_order = \"cdab\"\nscale = 1 "},
                             {"address = 1\nscale", "address = 2\nscale"}});
  expect_lines(swapped, {"input registers 0 and 1, bytes cdab: 8.12 reads as pH 8.12"});
  // 25.5 °C are 77.9 °F (NIST SP 811: °F = 1.8 °C + 32).
  const Ran fahrenheit =
      check(example("tcp-timed-board"), {{"scale = 0.1 ", "fahrenheit = true\nscale = 0.1 "}});
  expect_lines(fahrenheit, {"779 reads as 25.5 °C"});
}

TEST(CheckPage, reads_back_where_the_inputs_of_owner_rules_come_from) {
  const Ran ran = check(example("owner-rules"));
  const Ran observed = check(example("observed-stirrer"));
  EXPECT_TRUE(contains(ran.output, "    input ")) << ran.output;
  EXPECT_TRUE(contains(observed.output, "    stirrer, observed: ")) << observed.output;
  EXPECT_TRUE(contains(observed.output, "Each start costs a full settle")) << observed.output;
}

TEST(CheckPage, says_what_the_plan_supplies_and_what_parts_and_people_must_bear) {
  const Ran ran = check(example("tcp-timed-board"));
  // TRADE, at 25 °C: 40.6 meq/L and 814 mg/L of calcium, so 2 L in 400 L are 0.203 meq/L, which is
  // 0.57 dKH (2.8039 a meq/L), and 4.1 mg/L; 0.0203 mol/L (Bates, Bower & Smith 1956) of 74.093
  // g/mol are 3.0 g; and a vessel of 10 cm takes 90 to 120 g (common practice).
  expect_lines(ran,
               {"0.57 dKH and 4.1 mg/L of calcium a day, and takes 3.0 g of powder:\n",
                "a charge of 90 to 120 g, common practice for this bore, lasts 30 to 40 days"});
  // Two pulses in each of twelve windows; 100,000 operations / (24 * 365).
  expect_lines(ran, {"The pump's relay starts 24 times a day", "last 11.4 years",
                     "A reboot costs a full settle, 60 min"});
  std::smatch found;
  ASSERT_TRUE(std::regex_search(
      ran.output, found,
      std::regex{"gives 3000 mL in an hour: from pH 8.45 to an estimated ([0-9.]+)"}))
      << ran.output;
  // TRADE: at 2300 µmol/kg and pH_T 8.30 (8.44 here) 1 mL/L gives +0.044. More alkalinity, as the 8
  // dKH that stand in here, and each millilitre before give less: 7.5 mL/L stay below 7.5 times
  // that.
  EXPECT_LT(std::stod(found[1]), 8.45 + 7.5 * 0.044);
  EXPECT_GT(std::stod(found[1]), 8.45 + 7.5 * 0.022);
  const Ran flood =
      check(example("tcp-timed-board"), {{"rate_ml_per_min = 50", "rate_ml_per_min = 2000"}});
  expect_lines(flood, {"gives 120000 mL in an hour: from pH 8.45 to more than 10"});
}

TEST(CheckPage, names_the_charge_of_other_vessels) {
  // TRADE: 15 cm 120–150 g, 25 cm 150–180 g (common practice); half way between in between.
  for (const auto& [bore, charge] :
       {Change{"= 150 ", "of 120 to 150 g"}, Change{"= 250 ", "of 150 to 180 g"},
        Change{"= 200 ", "of 135 to 165 g"}, Change{"= 400 ", "of 150 to 180 g"},
        Change{"= 50 ", "of 45 to 60 g"}}) {
    expect_lines(
        check(example("tcp-timed-board"), {{"reactor_bore_mm = 100 ", "reactor_bore_mm " + bore}}),
        {charge});
  }
}

TEST(CheckPage, says_where_each_limit_comes_from) {
  const Ran ran =
      check(example("tcp-timed-board"), {{"settle_min = 60", "settle_min = 60\nph_climb = 0.2"}});
  expect_lines(
      ran, {"    your file (beside the default, and what no file can pass):\n",
            "      ph_ceiling 8.45 (8.45; 7.5 to 8.6)\n", "      settle_min 60 (60; 20 to 600)\n",
            "      ph_climb 0.2 (0.12; 0.02 to 0.2), at the bound\n"});
  EXPECT_FALSE(contains(ran.output, "      ph_rise ")) << "it is a default\n" << ran.output;
  const Ran none = check(example("simulated"), {});
  EXPECT_TRUE(contains(none.output, "    the default, ")) << none.output;
}

TEST(CheckPage, says_the_sites_numbers_beside_what_is_usual) {
  expect_lines(check(example("tcp-timed-board")),
               {"4000 mL evaporate each day, 1.0 % of it (usual: 0.3 to 5 %)",
                "bore 100 mm (40 to 400); pump at most 50.0 mL/min (1 to 250)",
                "settles for 60 min (usual: from 60 min)"});
}

// A whole half minute was read back as "0 min".
TEST(CheckPage, reads_short_times_back_as_they_are) {
  const Ran ran = check(example("tcp-timed-board"), {{"run_min = 15", "run_min = 0.5"}});
  expect_lines(ran, {"The stirrer runs 30 s every 120 min"});
}

TEST(CheckPage, says_how_far_the_volume_may_go_and_why) {
  const std::string timed = example("tcp-timed-board");
  // 2000 mL in 24 pulses, and one of them more.
  expect_lines(check(timed),
               {"'limegate volume' may go to 2083.3 mL a day: the day's volume and one "
                "pulse,\n    as max_day_ml is not in your file. There it may be up to "
                "4000.0: no more than evaporates.\n"});
  expect_lines(check(timed, {{"settle_min = 60", "max_day_ml = 2500"}}),
               {"'limegate volume' may go to 2500.0 mL a day: max_day_ml of your file.\n"});
  expect_lines(check(timed, {{"settle_min = 60", "max_day_ml = 4000"}}),
               {"'limegate volume' may go to 4000.0 mL a day: no more than evaporates.\n"});
  const std::vector<Change> slow{{"settle_min = 60", "max_day_ml = 4000\nmax_hour_ml = 200"}};
  expect_lines(check(timed, slow), {"mL a day: with more\n    the plan can't fit: ",
                                    "max_hour_ml is 200.0: give at most "});
  // Twelve windows a day, each within an hour.
  EXPECT_NEAR(
      nlohmann::json::parse(check(timed, slow, {"--json"}).output)["stations"][0]["volume_up_to_ml"]
          .get<double>(),
      2400.0, 10.0);
  const auto json = nlohmann::json::parse(
      check(timed, {{"settle_min = 60", "max_day_ml = 2500"}}, {"--json"}).output);
  EXPECT_EQ(json["stations"][0]["volume_up_to_ml"], 2500.0);
}

// Of what a person shall read before a signature: no line is long, none is there twice.
TEST(CheckPage, says_who_may_change_something_in_a_browser) {
  const std::string reef = example("simulated");
  expect_lines(check(reef),
               {"Page: at http://127.0.0.1:8377/, to read only: it has no token_file.\n"});
  const TempDir folder;
  const std::string token = folder.path() + "/token";
  const auto with_token = [&](const std::string& more) {
    return check(reef, {{"listen =", "token_file = \"" + token + "\"\n" + more + "listen ="}});
  };
  expect_lines(with_token(""), {"token_file " + token + " is not there", "can't be read from"});
  write_file(token, "123456789012345\n");
  ::chmod(token.c_str(), 0600);
  expect_lines(with_token(""), {"shorter than 16 characters, so nothing can be changed there"});
  write_file(token, "1234567890123456\n");
  const Ran fine = with_token("https_origin = \"https://reef.lan\"\n");
  EXPECT_EQ(fine.code, 0) << fine.output;
  expect_lines(fine, {"Page: at http://127.0.0.1:8377/, also as https://reef.lan.\n"
                      "  Who has the token may do there, on this machine and by https, what a "
                      "person at the station\n    may, and from elsewhere only hold back.\n"});
  EXPECT_FALSE(contains(fine.output, "1234567890123456"));
  ::chmod(token.c_str(), 0644);
  expect_lines(with_token(""), {"can be read by everybody"});
}

TEST(CheckPage, is_short_and_says_nothing_twice) {
  for (const auto& [name, most] : {std::pair<std::string, int>{"simulated", 45},
                                   std::pair<std::string, int>{"tcp-timed-board", 66}}) {
    const Ran ran = check(example(name));
    std::istringstream lines{ran.output};
    std::vector<std::string> seen;
    for (std::string line; std::getline(lines, line);) {
      const auto letters = std::count_if(line.begin(), line.end(), [](char c) {
        return (static_cast<unsigned char>(c) & 0xC0U) != 0x80U;
      });
      if (line.rfind("  ", 0) == 0) {
        EXPECT_LE(letters, 104) << line;
      }
      if (!contains(line, "read back where it is switched")) {
        EXPECT_EQ(std::count(seen.begin(), seen.end(), line), 0) << line;
      }
      seen.push_back(line);
    }
    EXPECT_LE(static_cast<int>(seen.size()), most) << ran.output;
  }
}

TEST(CheckPage, is_of_one_station_where_that_is_asked_for) {
  const std::string two = example("two-stations");
  const Ran both = check(two);
  std::vector<std::string> names;
  const std::regex heading{"(?:^|\n)Station ([a-z0-9-]+)"};
  for (std::sregex_iterator at{both.output.begin(), both.output.end(), heading}, end; at != end;
       ++at) {
    names.push_back((*at)[1]);
  }
  ASSERT_EQ(names.size(), 2U) << both.output;
  const Ran one = check(two, {}, {"--station", names[1]});
  EXPECT_EQ(one.code, 0);
  EXPECT_FALSE(contains(one.output, "Station " + names[0])) << one.output;
  EXPECT_TRUE(contains(one.output, "Station " + names[1])) << one.output;
  const Ran none = check(two, {}, {"--station", "nowhere"});
  EXPECT_EQ(none.code, 2);
  EXPECT_TRUE(contains(none.output, "--station must name a station of the file: " + names[0]))
      << none.output;
}

}  // namespace
}  // namespace limegate::test
