// What a person reads of a status.

#include "app/view.h"

#include <chrono>
#include <cstdlib>
#include <ctime>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace limegate::app {
namespace {

using ::testing::HasSubstr;
using ::testing::Not;

constexpr WallTime kThen{std::chrono::seconds{1795590932}};  // 2026-11-25T07:15:32Z

/// Local time as a sundial two hours east of Greenwich has it, for as long as this lives.
class InTheEast {
 public:
  InTheEast() { set("EAST-2"); }
  ~InTheEast() { set("UTC"); }
  InTheEast(const InTheEast&) = delete;
  InTheEast& operator=(const InTheEast&) = delete;
  InTheEast(InTheEast&&) = delete;
  InTheEast& operator=(InTheEast&&) = delete;

 private:
  static void set(const char* zone) {
    ::setenv("TZ", zone, 1);  // NOLINT(concurrency-mt-unsafe): a test of one thread
    ::tzset();
  }
};

station::Overview overview() {
  station::Overview now;
  now.at.wall = kThen;
  now.stations.emplace_back();
  now.stations.back().station = "reef";
  now.stations.back().at = now.at;
  return now;
}

TEST(View, says_of_every_time_in_which_zone_it_is) {
  const InTheEast zone;
  EXPECT_THAT(view_of(overview()), HasSubstr("reef   2026-11-25 09:15:32 +0200"));
}

TEST(View, tells_of_the_last_refusal_with_what_by_whom_when_and_how_often) {
  const InTheEast zone;
  station::Overview now = overview();
  EXPECT_THAT(view_of(now), Not(HasSubstr("refused last")));
  now.stations.back().refused =
      station::Refusal{"plan/day-volume", "MQTT", "'nan' is not a number.", kThen, 3};
  EXPECT_THAT(view_of(now), HasSubstr("refused last: plan/day-volume by MQTT at 2026-11-25 "
                                      "09:15:32 +0200, 3 times. 'nan' is not a number."));
}

TEST(View, tells_how_the_broker_is_and_what_was_wrong_last) {
  const InTheEast zone;
  station::Overview now = overview();
  EXPECT_THAT(view_of(now), Not(HasSubstr("MQTT")));
  now.mqtt = station::MqttState{"broker.lan:1883", true, kThen, "", std::nullopt};
  EXPECT_THAT(view_of(now),
              HasSubstr("MQTT: connected to broker.lan:1883 since 2026-11-25 09:15:32 +0200\n"));
  now.mqtt->connected = false;
  now.mqtt->last_fault = "the connection broke";
  now.mqtt->last_fault_at = kThen;
  EXPECT_THAT(view_of(now),
              HasSubstr("MQTT: not connected to broker.lan:1883 since 2026-11-25 09:15:32 +0200; "
                        "last fault 2026-11-25 09:15:32 +0200: the connection broke"));
}

}  // namespace
}  // namespace limegate::app
