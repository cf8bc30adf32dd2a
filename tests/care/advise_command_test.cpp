// `limegate advise`, as built, from books that are written here.

#include <cmath>
#include <string>
#include <vector>

#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include "support/places.h"
#include "support/program.h"

namespace limegate::test {
namespace {

constexpr const char* kHead = "time,what,value,unit\n";

std::string day(int number) {
  return "2026-09-" + std::string{number < 10 ? "0" : ""} + std::to_string(number);
}

/// 28 days of 2000 mL into the simulated station's 400 L, and five tests that stay at 8.2 dKH.
std::string steady() {
  std::string book = kHead;
  for (int i = 1; i <= 29; ++i) {
    book += day(i) + "T00:00:00Z,limewater,2000,mL\n";
    if (i % 7 == 1) {
      book += day(i) + "T10:00:00Z,alkalinity,8.2,dKH\n";
    }
  }
  return book;
}

const std::vector<std::string> kAsked{"--at", "2026-09-29T12:00:00Z", "--next-test",
                                      "2026-10-06T10:00:00Z"};

Ran advise(const std::string& book, std::vector<std::string> more = kAsked,
           const std::string& config = "simulated") {
  const TempDir folder;
  const std::string file = folder.path() + "/book.csv";
  write_file(file, book);
  more.insert(more.begin(),
              {limegate_path(), "advise", source_dir() + "/config/examples/" + config + ".toml",
               "--from", file});
  return run_program(more);
}

nlohmann::json json_of(const std::string& book, std::vector<std::string> more = kAsked) {
  more.push_back("--json");
  const Ran ran = advise(book, more);
  EXPECT_EQ(ran.code, 0) << ran.output;
  auto json = nlohmann::json::parse(ran.output, nullptr, false);
  EXPECT_TRUE(json.is_object()) << ran.output;
  return json.is_object() ? json : nlohmann::json::object();
}

// 28 days of 2 L take 84 g at 25 °C (1.504 g/L, CARE.md, section 6): of 130 g half is gone by then,
// and of nine tenths 33 g are left. A vessel of 100 mm takes 90 to 120 g (common practice).
TEST(AdviseCommand, says_what_powder_is_left_and_when_to_refill) {
  const std::string charged = steady() + "2026-09-01T00:00:00Z,powder,130,g\n";
  const auto json = json_of(charged);
  EXPECT_EQ(json["powder_left_g"][0], 0);
  EXPECT_NEAR(json["powder_left_g"][1].get<double>(), 32, 4);
  EXPECT_NEAR(json["powder_days"][1].get<double>(), 10.5, 2);
  EXPECT_NEAR(json["powder_refill_g"][0].get<double>(), 45, 4);
  EXPECT_TRUE(contains(json["asks"][0].get<std::string>(), "The powder may be spent in 0 days"))
      << json["asks"];
  EXPECT_TRUE(contains(advise(charged).output, "Powder that can still be given: 0 to "));
  EXPECT_TRUE(json_of(steady())["powder_left_g"].is_null());
}

// 40.6 meq/L at 25 °C and 1 meq/L = 2.8039 dKH (TRADE.md): 2 L into 400 L bring 0.569 dKH, and a
// level that stays says that the tank takes up as much.
TEST(AdviseCommand, answers_in_the_keys_that_scripts_go_by) {
  const auto json = json_of(steady());
  EXPECT_NEAR(json["demand_dkh_per_day"].get<double>(), 0.569, 0.01);
  EXPECT_NEAR(json["hold_volume_ml_per_day"].get<double>(), 2000, 30);
  EXPECT_NEAR(json["next_alkalinity_dkh"].get<double>(), 8.2, 0.1);
  for (const auto& [key, interval] : {std::pair{"demand_dkh_per_day", "demand_90"},
                                      std::pair{"hold_volume_ml_per_day", "hold_volume_90"},
                                      std::pair{"next_alkalinity_dkh", "next_alkalinity_90"},
                                      std::pair{"alkalinity_dkh", "alkalinity_90"}}) {
    ASSERT_EQ(json[interval].size(), 2U) << interval;
    EXPECT_LT(json[interval][0], json[key]);
    EXPECT_LT(json[key], json[interval][1]);
  }
  EXPECT_NEAR(json["next_volume_ml_per_day"].get<double>(), 2000, 30);
  EXPECT_EQ(json["present_volume_ml_per_day"], 2000);
  EXPECT_EQ(json["enough_tests"], true);
  EXPECT_EQ(json["tests"], 5);
  EXPECT_TRUE(json["asks"].is_array() && json["asks"].empty()) << json["asks"];
  EXPECT_EQ(json["other_method_dkh_per_day"], 0);
  EXPECT_EQ(json["station"], "demo-reef");
}

TEST(AdviseCommand, reads_the_rows_in_any_order) {
  std::string turned;
  const std::string book = steady();
  std::size_t at = book.find('\n') + 1;
  while (at < book.size()) {
    const std::size_t end = book.find('\n', at) + 1;
    turned.insert(0, book, at, end - at);
    at = end;
  }
  EXPECT_EQ(json_of(kHead + turned), json_of(book));
}

TEST(AdviseCommand, is_a_page_for_people) {
  const Ran ran = advise(steady());
  EXPECT_EQ(ran.code, 0);
  for (const char* line :
       {"advice from 5 tests", "Demand of the tank: 0.57 dKH a day (", "Limewater that holds",
        "Limewater at present: 2000 mL a day. Next: ", "Alkalinity now, as your kit reads it: 8.2",
        "A test would say most at 2026-1"}) {
    EXPECT_TRUE(contains(ran.output, line)) << line << "\n" << ran.output;
  }
}

TEST(AdviseCommand, takes_the_limewater_that_is_told) {
  // 41.7 meq/L at 20 °C (TRADE.md), and half of it spoiled.
  auto asked = kAsked;
  asked.insert(asked.end(), {"--reactor-temperature", "20C", "--spoiled", "50%"});
  const auto json = json_of(steady(), asked);
  EXPECT_NEAR(json["demand_dkh_per_day"].get<double>(), 2000 * 41.7 / 2 / 400e3 * 2.8039, 0.01);
  EXPECT_NEAR(json["hold_volume_ml_per_day"].get<double>(), 2000, 30);
}

TEST(AdviseCommand, asks_about_every_row_that_it_does_not_use) {
  const auto json = json_of(steady() +
                            "2026-09-10T10:00:00Z,alkalinity,82,dKH\n"
                            "2026-09-11T10:00:00Z,alkalinity,8.2,mg\n"
                            "2027-09-11T10:00:00Z,alkalinity,8.2,dKH\n"
                            "2025-09-11T10:00:00Z,alkalinity,8.2,dKH\n"
                            "2026-09-12T00:00:00Z,limewater,-2000,mL\n"
                            "soon,\xFF\xFE,8.2,dKH\n");
  const auto clean = json_of(steady());
  ASSERT_EQ(json["asks"].size(), 6U) << json["asks"];
  for (int i = 0; i < 6; ++i) {
    EXPECT_EQ(json["asks"][static_cast<std::size_t>(i)].get<std::string>().find(
                  "line " + std::to_string(36 + i) + ": "),
              0U)
        << json["asks"];
  }
  EXPECT_EQ(json["demand_dkh_per_day"], clean["demand_dkh_per_day"]);
  EXPECT_EQ(json["hold_volume_90"], clean["hold_volume_90"]);
}

TEST(AdviseCommand, says_what_is_unknown_by_null_and_a_sentence) {
  const auto json = json_of(std::string{kHead} + "2026-09-20T10:00:00Z,alkalinity,8.2,dKH\n");
  for (const char* key :
       {"demand_dkh_per_day", "demand_90", "hold_volume_ml_per_day", "hold_volume_90",
        "next_volume_ml_per_day", "next_alkalinity_dkh", "next_alkalinity_90"}) {
    EXPECT_TRUE(json.contains(key) && json[key].is_null()) << key;
  }
  EXPECT_EQ(json["enough_tests"], false);
  EXPECT_GE(json["asks"].size(), 2U);
}

TEST(AdviseCommand, refuses_what_it_can_not_answer) {
  const std::string book = steady();
  const std::vector<std::pair<std::vector<std::string>, std::string>> rows{
      {{"--at", "yesterday"}, "--at 'yesterday' is no time"},
      {{"--at", "2026-09-29T12:00:00"}, "is no time"},
      {{"--at", "2026-09-29T12:00:00Z", "--next-test", "2026-09-29T11:00:00Z"},
       "--next-test must lie within 60 days after --at"},
      {{"--at", "2026-09-29T12:00:00Z", "--next-test", "2026-12-29T11:00:00Z"}, "--next-test"},
      {{"--target", "83dKH"}, "--target 83.0 dKH must lie within 6 and 12"},
      {{"--target", "8.3"}, "has no unit"},
      {{"--at", "2026-09-29T12:00:00Z", "--by", "2026-09-29T12:00:00Z"}, "--by must be later"},
      {{"--station", "nobody"}, "--station must name a station of the file: "},
      {{"--strength", "0mmol/kg"}, "gives no alkalinity"},
      {{"--reactor-temperature", "80C"}, "outside the allowed range"}};
  for (const auto& [options, says] : rows) {
    const Ran ran = advise(book, options);
    EXPECT_EQ(ran.code, 2) << ran.output;
    EXPECT_TRUE(contains(ran.output, says)) << says << "\n" << ran.output;
  }
  EXPECT_EQ(advise("").code, 2);
  EXPECT_EQ(advise("no book\n").code, 2);
  EXPECT_EQ(advise(book, kAsked, "nowhere").code, 2);
  EXPECT_EQ(run_program({limegate_path(), "advise",
                         source_dir() + "/config/examples/simulated.toml", "--from", "/nowhere"})
                .code,
            2);
}

TEST(AdviseCommand, asks_which_station_is_meant) {
  const Ran ran = advise(steady(), kAsked, "two-stations");
  EXPECT_EQ(ran.code, 2);
  EXPECT_TRUE(contains(ran.output, "--station must name a station of the file: reef, frags"))
      << ran.output;
}

}  // namespace
}  // namespace limegate::test
