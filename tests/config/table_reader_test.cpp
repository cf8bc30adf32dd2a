#include "config/table_reader.h"

#include <chrono>

#include <gtest/gtest.h>

#include "config/load.h"

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

TEST(Load, of_a_wired_station_without_any_bus_is_refused) {
  const auto refused = parse("[[station]]\nname = 'reef'");
  ASSERT_FALSE(refused);
  EXPECT_GT(refused.error().size(), 10U) << "everything that is missing, bus and all";
}

}  // namespace
}  // namespace limegate::config
