// What the stream of events remembers of refusals.

#include "app/event_stream.h"

#include <chrono>

#include <gtest/gtest.h>

namespace limegate::app {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

/// A clock that a test moves.
class HandClock : public ports::Clock {
 public:
  [[nodiscard]] Moment now() const override {
    return {Instant{1h + passed}, WallTime{9000s + passed}};
  }
  Duration passed{};
};

class Refusals : public testing::Test {
 protected:
  void refuse(const std::string& why, const std::string& by = "MQTT") {
    clock_.passed += 1s;
    events_.raise("reef", station::event_of({"set-day-volume", by, why, clock_.now().wall}));
  }

  HandClock clock_;
  EventStream events_{clock_,
                      [](const std::string& /*station*/, const station::Event& /*event*/) {}};
};

TEST_F(Refusals, the_last_one_says_what_by_whom_when_and_how_often) {
  EXPECT_FALSE(events_.refused("reef"));
  refuse("Too much.");
  refuse("Too much.");
  const auto last = events_.refused("reef");
  ASSERT_TRUE(last);
  EXPECT_EQ(last->what, "set-day-volume");
  EXPECT_EQ(last->by, "MQTT");
  EXPECT_EQ(last->why, "Too much.");
  EXPECT_EQ(last->at, WallTime{9002s});
  EXPECT_EQ(last->times, 2U);
  EXPECT_FALSE(events_.refused("")) << "nothing was said to the daemon itself";
}

TEST_F(Refusals, another_reason_or_another_person_begins_anew) {
  refuse("Too much.");
  refuse("No number.");
  EXPECT_EQ(events_.refused("reef")->times, 1U);
  refuse("No number.", "control socket, user keeper");
  EXPECT_EQ(events_.refused("reef")->times, 1U);
  EXPECT_EQ(events_.refused("reef")->by, "control socket, user keeper");
}

TEST_F(Refusals, those_that_are_not_told_any_more_are_counted_too) {
  int told = 0;
  events_.listen([&](const Happened& /*happened*/) { ++told; });
  for (int i = 0; i < 40; ++i) {
    refuse("Too much.");
  }
  EXPECT_EQ(told, static_cast<int>(Repetition::kMost));
  EXPECT_EQ(events_.refused("reef")->times, 40U);
}

TEST_F(Refusals, other_events_are_none) {
  events_.raise("reef", {clock_.now().wall, station::Severity::info, "command", "Done."});
  EXPECT_FALSE(events_.refused("reef"));
}

}  // namespace
}  // namespace limegate::app
