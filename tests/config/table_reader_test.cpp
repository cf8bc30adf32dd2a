#include "config/table_reader.h"

#include <chrono>
#include <map>
#include <set>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include <gtest/gtest.h>

#include "config/load.h"
#include "config/nearest.h"
#include "support/places.h"
#include "support/program.h"

namespace limegate::config {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

std::optional<HoursOfDay> hours(const char* line, Problems& problems) {
  const toml::table table = toml::parse(line);
  return TableReader{table, "plan", problems}.maybe_hours("night");
}

TEST(TableReader, reads_hours_of_the_day) {
  Problems problems;
  EXPECT_EQ(hours("night = { from = 22:00:00, to = 06:30:00 }", problems),
            (HoursOfDay{22h, 6h + 30min}));
  EXPECT_EQ(hours("", problems), std::nullopt);
  EXPECT_TRUE(problems.empty());
}

TEST(TableReader, refuses_what_are_no_hours_of_the_day) {
  for (const char* line :
       {"night = 22:00:00", "night = { from = 22:00:00 }",
        "night = { from = '22:00', to = '6:30' }", "night = { from = 22:00:00, to = 22:00:00 }",
        "night = { from = 22:00:00, to = 06:30:00, until = 07:00:00 }", "night = true"}) {
    Problems problems;
    EXPECT_EQ(hours(line, problems), std::nullopt) << line;
    ASSERT_EQ(problems.size(), 1U) << line;
    EXPECT_NE(problems[0].what.find("{ from = 22:00:00, to = 06:30:00 }"), std::string::npos);
  }
}

/// The askings of one key of the text.
KeyList asked_for(std::string_view text, const std::string& table, const std::string& key) {
  KeyList found;
  for (AskedKey& asking : keys_asked(text)) {
    if (asking.table == table && asking.key == key) {
      found.push_back(std::move(asking));
    }
  }
  return found;
}

TEST(Load, of_a_wired_station_without_any_bus_is_refused) {
  const auto refused = parse("[[station]]\nname = 'reef'");
  ASSERT_FALSE(refused);
  EXPECT_EQ(refused.error().size(), 8U) << "each table and each fact that is missing, once";
}

TEST(Load, of_stations_without_a_name_and_without_any_bus_is_refused) {
  // Found by a spoilt example: what stands in for their outlets was looked up on a bus.
  EXPECT_FALSE(parse("[[station]]\n[[station]]"));
  EXPECT_FALSE(parse("[[station]]\npump = {}\nstirrer = {}"));
}

TEST(KeysAsked, say_what_the_loader_takes_whether_or_not_the_file_has_it) {
  const KeyList poll = asked_for("[daemon]\npoll_s = 99", "daemon", "poll_s");
  ASSERT_EQ(poll.size(), 1U);
  EXPECT_EQ(poll[0].low, 1.0);
  EXPECT_EQ(poll[0].high, 5.0);
  EXPECT_EQ(poll[0].otherwise, "1");
  EXPECT_EQ(poll[0].need, AskedKey::Need::optional);
  const KeyList state = asked_for("", "daemon", "state_dir");
  ASSERT_EQ(state.size(), 1U);
  EXPECT_EQ(state[0].need, AskedKey::Need::required);
  EXPECT_EQ(state[0].otherwise, std::nullopt);
}

TEST(KeysAsked, of_one_table_differ_by_more_than_a_letter) {
  // Else one that is right would be taken for a slip of another, which is not there.
  std::map<std::string, std::set<std::string>> keys;
  for (const AskedKey& asking :
       keys_asked(test::read_file(test::source_dir() + "/tests/manual/every_key.toml"))) {
    keys[asking.table].insert(asking.key);
  }
  for (const auto& [table, names] : keys) {
    for (const std::string& one : names) {
      for (const std::string& other : names) {
        EXPECT_TRUE(one.size() < 3 || one == other || edit_distance(one, other) > 1)
            << table << ": " << one << " and " << other;
      }
    }
  }
  EXPECT_GE(keys.size(), 10U);
}

TEST(KeysAsked, are_noted_once_for_each_table_under_the_tables_own_name) {
  const char* const buses = "[[bus]]\nname = 'a'\n[[bus]]\nname = 'b'";
  EXPECT_EQ(asked_for(buses, "bus", "type").size(), 2U);
  EXPECT_EQ(asked_for(buses, "", "bus").size(), 2U) << "so that whoever reads them can count";
  const KeyList type = asked_for(buses, "bus", "type");
  EXPECT_EQ(type[0].words, (std::vector<std::string>{"modbus-rtu", "modbus-tcp"}));
  const char* const station = "[[station]]\nname = 'reef'\n[station.limits]";
  const KeyList ceiling = asked_for(station, "station.limits", "ph_ceiling");
  ASSERT_EQ(ceiling.size(), 1U) << "not under the station's own name";
  EXPECT_EQ(ceiling[0].why, "hard bound of the ceiling");
  EXPECT_TRUE(keys_asked("this is no TOML").empty());
}

}  // namespace
}  // namespace limegate::config
