#include "dosing/account.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

namespace limegate::dosing {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using namespace literals;              // NOLINT(google-build-using-namespace): literals only

constexpr Stamp stamp(Duration lifetime, Duration wall) { return {lifetime, WallTime{wall}}; }
constexpr Stamp both(Duration at) { return stamp(at, at); }

TEST(Age, is_observed_uptime_whatever_the_wall_clock_says) {
  EXPECT_EQ(age(both(1h), both(3h)), 2h);
  for (const Duration wall : {Duration{30h}, Duration{3h}, Duration{1h}, Duration{1h} - 1ns,
                              Duration{0h}, Duration{-1000h}}) {
    EXPECT_EQ(age(both(1h), stamp(3h, wall)), 2h);
  }
}

TEST(Age, is_never_negative) {
  EXPECT_EQ(age(both(3h), both(1h)), 0h);
  EXPECT_EQ(age(stamp(3h, 1h), stamp(1h, 5h)), 0h);
}

class AccountTest : public testing::Test {
 protected:
  Account account;
};

TEST_F(AccountTest, nothing_given_is_nothing_counted) {
  EXPECT_EQ(account.last_hour(both(1h)), 0.0_mL);
  EXPECT_EQ(account.last_day(both(1h)), 0.0_mL);
  EXPECT_EQ(account.newest_id(), 0);
}

TEST_F(AccountTest, a_dose_leaves_each_window_to_the_nanosecond) {
  account.add({1, both(100h), 30.0_mL});
  EXPECT_EQ(account.last_hour(both(101h - 1ns)), 30.0_mL);
  EXPECT_EQ(account.last_hour(both(101h)), 0.0_mL);
  EXPECT_EQ(account.last_day(both(124h - 1ns)), 30.0_mL);
  EXPECT_EQ(account.last_day(both(124h)), 0.0_mL);
}

TEST_F(AccountTest, a_dose_that_has_not_ended_counts) {
  account.add({1, both(100h), 30.0_mL});
  EXPECT_EQ(account.last_hour(both(99h)), 30.0_mL);
}

TEST_F(AccountTest, a_forward_step_of_the_wall_clock_frees_nothing) {
  account.add({1, both(100h), 30.0_mL});
  EXPECT_EQ(account.last_day(stamp(101h, 1000h)), 30.0_mL);
  EXPECT_EQ(account.last_hour(stamp(101h - 1ns, 1000h)), 30.0_mL);
}

TEST_F(AccountTest, a_backward_step_frees_nothing_either) {
  account.add({1, both(100h), 30.0_mL});
  EXPECT_EQ(account.last_day(stamp(124h - 1ns, 50h)), 30.0_mL);
}

// It held healthy dosing for hours when the wall clock passed the stamps of old doses again.
TEST_F(AccountTest, a_backward_step_makes_no_old_dose_fresh) {
  account.add({1, both(100h), 30.0_mL});
  for (const Duration wall : {50h, 100h, 101h, 124h}) {
    EXPECT_EQ(account.last_hour(stamp(101h, wall)), 0.0_mL);
    EXPECT_EQ(account.last_day(stamp(124h, wall)), 0.0_mL);
  }
}

TEST_F(AccountTest, revise_replaces_and_ignores_what_it_does_not_know) {
  account.add({1, both(100h), 30.0_mL});
  account.add({2, both(100h), 20.0_mL});
  EXPECT_EQ(account.last_hour(both(100h)), 50.0_mL);
  account.revise(1, 5.0_mL);
  EXPECT_EQ(account.last_hour(both(100h)), 25.0_mL);
  account.revise(7, 500.0_mL);
  EXPECT_EQ(account.last_hour(both(100h)), 25.0_mL);
}

TEST_F(AccountTest, merge_keeps_the_larger_volume_and_adds_what_is_new) {
  account.add({1, both(100h), 30.0_mL});
  account.merge({1, both(100h), 10.0_mL});
  EXPECT_EQ(account.last_hour(both(100h)), 30.0_mL);
  account.merge({1, both(100h), 40.0_mL});
  EXPECT_EQ(account.last_hour(both(100h)), 40.0_mL);
  account.merge({2, both(100h), 10.0_mL});
  EXPECT_EQ(account.last_hour(both(100h)), 50.0_mL);
  EXPECT_EQ(account.newest_id(), 2);
}

TEST_F(AccountTest, prune_drops_only_what_left_the_day) {
  account.add({1, both(100h), 30.0_mL});
  account.add({2, both(100h + 1ns), 20.0_mL});
  account.prune(both(124h));
  EXPECT_EQ(account.last_day(both(124h)), 20.0_mL);
  account.merge({1, both(124h), 7.0_mL});  // it is not known any more, so it is added
  EXPECT_EQ(account.last_day(both(124h)), 27.0_mL);
  EXPECT_EQ(account.newest_id(), 2);
}

TEST_F(AccountTest, the_newest_id_does_not_depend_on_the_order) {
  account.add({5, both(1h), 1.0_mL});
  account.add({3, both(1h), 1.0_mL});
  EXPECT_EQ(account.newest_id(), 5);
}

/// A random course of true time, observed uptime and wall clock. Uptime stands still in reboots.
struct History {
  Duration truth{1000h};
  Stamp now = both(1000h);

  void go_on() {
    const Duration by = *rc::gen::element<Duration>(0s, 1ns, 1s, 20min, 1h - 1ns, 1h, 6h, 24h);
    truth += by;
    now.lifetime +=
        *rc::gen::element(by, by, by, Duration{by / 2}, Duration{0});  // off or rebooting
    now.wall += by;
    const Duration step = *rc::gen::element<Duration>(0s, 0s, 0s, 1s, 25h, 9000h);
    now.wall += *rc::gen::arbitrary<bool>() ? -step : step;
  }
};

struct Given {
  Dose dose;
  Duration truth;
};

Millilitres recomputed(const std::vector<Given>& doses, Stamp now, Duration window) {
  Millilitres sum;
  for (const Given& given : doses) {
    if (age(given.dose.end, now) < window) {
      sum += given.dose.volume;
    }
  }
  return sum;
}
Millilitres truly(const std::vector<Given>& doses, Duration truth, Duration window) {
  Millilitres sum;
  for (const Given& given : doses) {
    if (truth - given.truth < window) {
      sum += given.dose.volume;
    }
  }
  return sum;
}

RC_GTEST_PROP(Account, sums_are_those_of_a_recount_and_never_below_the_truth, ()) {
  History history;
  Account account;
  std::vector<Given> doses;
  const int steps = *rc::gen::inRange(1, 60);
  for (int i = 1; i <= steps; ++i) {
    history.go_on();
    if (*rc::gen::arbitrary<bool>()) {
      // Whole millilitres, so that sums are exact in any order.
      const Dose dose{i, history.now, Millilitres{static_cast<double>(*rc::gen::inRange(1, 50))}};
      if (*rc::gen::arbitrary<bool>()) {
        account.prune(history.now);
      }
      account.add(dose);
      doses.push_back({dose, history.truth});
    }
    for (const Given& given : doses) {
      RC_ASSERT(age(given.dose.end, history.now) <= history.truth - given.truth);
    }
    const Millilitres hour = account.last_hour(history.now);
    const Millilitres day = account.last_day(history.now);
    RC_ASSERT(hour >= truly(doses, history.truth, 1h));
    RC_ASSERT(day >= truly(doses, history.truth, 24h));
    RC_ASSERT(hour == recomputed(doses, history.now, 1h));
    RC_ASSERT(day == recomputed(doses, history.now, 24h));
  }
}

}  // namespace
}  // namespace limegate::dosing
