#include "modbus/patience.h"

#include <gtest/gtest.h>

namespace limegate::modbus {
namespace {

using std::chrono::milliseconds;
using std::chrono::seconds;

constexpr Instant kNow{std::chrono::hours{100}};

Patience half_to_ten_seconds() { return {milliseconds{500}, seconds{10}}; }

TEST(Patience, lets_try_what_never_failed) {
  EXPECT_TRUE(half_to_ten_seconds().may_try(kNow));
  EXPECT_FALSE(half_to_ten_seconds().failing());
}

TEST(Patience, waits_up_to_the_moment_and_no_longer) {
  auto patience = half_to_ten_seconds();
  patience.failed(kNow);
  EXPECT_FALSE(patience.may_try(kNow + milliseconds{499}));
  EXPECT_TRUE(patience.may_try(kNow + milliseconds{500}));
  EXPECT_TRUE(patience.may_try(kNow + milliseconds{501}));
}

TEST(Patience, doubles_up_to_its_bound) {
  auto patience = half_to_ten_seconds();
  Instant now = kNow;
  for (const int expected_ms : {500, 1000, 2000, 4000, 8000, 10000, 10000}) {
    patience.failed(now);
    EXPECT_EQ(patience.next_try() - now, milliseconds{expected_ms});
    now = patience.next_try();
  }
  EXPECT_EQ(patience.failures(), 7);
}

TEST(Patience, does_not_double_for_a_try_out_of_turn) {
  auto patience = half_to_ten_seconds();
  patience.failed(kNow);
  patience.failed(kNow + milliseconds{100});
  EXPECT_EQ(patience.next_try(), kNow + milliseconds{600});
}

TEST(Patience, forgets_at_the_first_success) {
  auto patience = half_to_ten_seconds();
  patience.failed(kNow);
  patience.failed(kNow + seconds{1});
  patience.succeeded();
  EXPECT_TRUE(patience.may_try(kNow));
  patience.failed(kNow);
  EXPECT_EQ(patience.next_try(), kNow + milliseconds{500});
}

}  // namespace
}  // namespace limegate::modbus
