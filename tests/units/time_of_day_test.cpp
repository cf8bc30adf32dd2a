#include "units/time_of_day.h"

#include <cstdlib>
#include <string>

#include <gtest/gtest.h>

namespace limegate {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

/// The process's time zone, put back at the end.
class Zone {
 public:
  explicit Zone(const char* zone) {
    if (const char* before = std::getenv("TZ")) {  // NOLINT(concurrency-mt-unsafe): one thread
      before_ = before;
    }
    set(zone);
  }
  ~Zone() { set(before_.empty() ? nullptr : before_.c_str()); }
  Zone(const Zone&) = delete;
  Zone& operator=(const Zone&) = delete;
  Zone(Zone&&) = delete;
  Zone& operator=(Zone&&) = delete;

 private:
  static void set(const char* zone) {
    // NOLINTBEGIN(concurrency-mt-unsafe): one thread
    (void)(zone == nullptr ? unsetenv("TZ") : setenv("TZ", zone, 1));
    // NOLINTEND(concurrency-mt-unsafe)
    tzset();
  }
  std::string before_;
};

WallTime at(std::int64_t seconds) { return WallTime{std::chrono::seconds{seconds}}; }

TEST(TimeOfDay, is_the_wall_clocks_of_the_zone) {
  {
    const Zone utc{"UTC0"};
    EXPECT_EQ(time_of_day(at(0)), 0h);
    EXPECT_EQ(time_of_day(at(0) - 1ms), 24h - 1ms);
  }
  const Zone zone{"XST-5:30"};  // POSIX: 5 h 30 min east of UTC
  EXPECT_EQ(time_of_day(at(0)), 5h + 30min);
}

/// The rule is POSIX's own text for central Europe. On 2026-03-29 at 01:00 UTC 02:00 becomes 03:00,
/// on 2026-10-25 at 01:00 UTC 03:00 becomes 02:00. Source: directive 2000/84/EC: the last Sundays
/// of March and October, at 01:00 GMT.
TEST(TimeOfDay, follows_daylight_saving) {
  const Zone zone{"CET-1CEST,M3.5.0,M10.5.0/3"};
  const WallTime spring = at(1774746000);
  EXPECT_EQ(time_of_day(spring - 1s), 2h - 1s);
  EXPECT_EQ(time_of_day(spring), 3h);
  const WallTime autumn = at(1792890000);
  EXPECT_EQ(time_of_day(autumn - 1s), 3h - 1s);
  EXPECT_EQ(time_of_day(autumn), 2h);
}

TEST(HoursOfDay, hold_their_beginning_and_not_their_end) {
  const HoursOfDay day{8h, 20h};
  EXPECT_FALSE(day.contains(8h - 1s));
  EXPECT_TRUE(day.contains(8h));
  EXPECT_TRUE(day.contains(20h - 1s));
  EXPECT_FALSE(day.contains(20h));
  EXPECT_EQ(day.length(), 12h);
}

TEST(HoursOfDay, go_over_midnight) {
  const HoursOfDay night{22h, 6h + 30min};
  EXPECT_FALSE(night.contains(22h - 1s));
  EXPECT_TRUE(night.contains(22h));
  EXPECT_TRUE(night.contains(0h));
  EXPECT_TRUE(night.contains(6h + 30min - 1s));
  EXPECT_FALSE(night.contains(6h + 30min));
  EXPECT_EQ(night.length(), 8h + 30min);
  EXPECT_EQ(for_people(night), "22:00 to 06:30");
}

}  // namespace
}  // namespace limegate
