// A start with a wall clock that is hours wrong, as of boards without a battery.

#include <cmath>
#include <numbers>

#include <gtest/gtest.h>

#include "station/bench.h"

namespace limegate::station {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

/// A swing of our own: lowest at 7, highest at 19 UTC.
double day_of(Duration time_of_day) {
  const double hours = in_minutes(time_of_day) / 60.0;
  return 8.15 - 0.15 * std::cos(2.0 * std::numbers::pi * (hours - 7.0) / 24.0);
}

History learned() {
  History history;
  for (int quarter = 0; quarter < signal::DayCourse::kQuarters; ++quarter) {
    history.usual_course[static_cast<std::size_t>(quarter)] = {day_of(15min * quarter + 450s), 14};
  }
  return history;
}

enum class Trust { yes, no };

/// It is 7 UTC and the clock says 22: what is usual falls while the water climbs.
struct NineHoursBehind {
  explicit NineHoursBehind(Trust trust)
      : bench{Bench::usual(),
              learned(),
              {Instant{100h}, WallTime{24h * 20454 + 22h}, trust == Trust::yes}} {}

  void live(Duration lasting) {
    for (const Instant end = bench.now.mono + lasting; bench.now.mono < end;) {
      bench.ph = day_of((bench.now.mono - Instant{100h} + 7h) % 24h);
      bench.second();
    }
  }
  Bench bench;
};

TEST(WrongClock, that_is_believed_latches_on_a_healthy_station) {
  NineHoursBehind world{Trust::yes};
  world.live(14h);
  EXPECT_FALSE(world.bench.core.latches().empty()) << "else the next test says nothing";
}

TEST(WrongClock, that_nobody_set_latches_nothing_and_doses) {
  NineHoursBehind world{Trust::no};
  world.live(14h);
  EXPECT_TRUE(world.bench.core.latches().empty());
  EXPECT_GE(world.bench.count<AppendPulse>(), 10U);
  EXPECT_EQ(world.bench.raised("held-ph-unusual-climb"), 0U);
  EXPECT_FALSE(world.bench.core.status(world.bench.now).usual_ph);
  // Set at last, it teaches and judges again.
  world.bench.now.wall += 9h;
  world.bench.now.wall_trusted = true;
  const std::size_t before = world.bench.count<AppendPulse>();
  world.live(24h);
  EXPECT_TRUE(world.bench.core.latches().empty());
  EXPECT_GE(world.bench.count<AppendPulse>(), before + 20U);
  EXPECT_TRUE(world.bench.core.status(world.bench.now).usual_ph);
}

}  // namespace
}  // namespace limegate::station
