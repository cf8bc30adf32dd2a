// What is described of a device whose values come and go.

#include "mqtt/presence.h"

#include <chrono>
#include <optional>

#include <gtest/gtest.h>

namespace limegate::mqtt {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using Description = Presence::Description;
using Payload = std::optional<std::string>;

class Comings : public testing::Test {
 protected:
  /// Whether the description changes with these.
  bool take(Payload ph, Payload usual, Duration at,
            Description description = Description::at_rest) {
    values_ = {{"ph", "value", std::move(ph)}, {"ph", "usual", std::move(usual)}};
    return presence_.take(values_, description, Instant{at});
  }

  Presence presence_{1h};
  std::vector<Value> values_;
};

TEST_F(Comings, what_has_no_value_is_left_out) {
  EXPECT_TRUE(take("8.1", "", 0s, Description::may_change)) << "the first";
  EXPECT_EQ(presence_.without(), (Paths{"ph/usual"}));
  EXPECT_FALSE(take("8.2", "", 1s));
  EXPECT_EQ(values_[0].payload, "8.2");
}

TEST_F(Comings, in_init_whatever_comes_is_described_at_once) {
  (void)take("", "", 0s, Description::may_change);
  EXPECT_TRUE(take("8.1", "", 1s, Description::may_change));
  EXPECT_TRUE(take("8.1", "8.0", 2s, Description::may_change));
  EXPECT_TRUE(presence_.without().empty());
}

TEST_F(Comings, what_speaks_a_little_late_is_gathered_for_ten_seconds) {
  (void)take("", "", 0s, Description::may_change);
  EXPECT_FALSE(take("8.1", "", 10s - 1ns));
  EXPECT_EQ(values_[0].payload, "") << "nothing is published that is not described";
  EXPECT_TRUE(take(std::nullopt, "", 10s)) << "it stays as it was";
  EXPECT_EQ(values_[0].payload, "8.1");
}

TEST_F(Comings, what_comes_later_waits_for_an_hour_and_is_not_published_before) {
  (void)take("", "", 0s, Description::may_change);
  EXPECT_TRUE(take("8.1", "", 20s));
  EXPECT_FALSE(take("8.1", "8.0", 20s + 1h - 1ns));
  EXPECT_EQ(values_[1].payload, "");
  EXPECT_TRUE(take("8.1", std::nullopt, 20s + 1h));
  EXPECT_TRUE(presence_.without().empty());
  EXPECT_EQ(values_[1].payload, "8.0");
}

TEST_F(Comings, what_goes_is_left_out_at_once_and_comes_back_an_hour_later) {
  (void)take("8.1", "8.0", 0s, Description::may_change);
  EXPECT_TRUE(take("8.1", "", 1s));
  EXPECT_EQ(presence_.without(), (Paths{"ph/usual"}));
  EXPECT_EQ(values_[1].payload, "");
  EXPECT_FALSE(take("8.1", "8.0", 1h));
  EXPECT_TRUE(take("8.1", "8.0", 1h + 1s));
}

TEST_F(Comings, what_stays_as_it_was_is_there) {
  (void)take("8.1", "8.0", 0s, Description::may_change);
  EXPECT_FALSE(take(std::nullopt, std::nullopt, 2h));
  EXPECT_EQ(values_[0].payload, "8.1");
}

TEST_F(Comings, of_what_never_was_nothing_stays) {
  EXPECT_TRUE(take(std::nullopt, "8.0", 0s, Description::may_change));
  EXPECT_EQ(presence_.without(), (Paths{"ph/value"}));
  EXPECT_EQ(values_[0].payload, "") << "so that what an earlier life left there goes";
}

}  // namespace
}  // namespace limegate::mqtt
