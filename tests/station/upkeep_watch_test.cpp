// What is due by the book of a station, told once and over once it is done.

#include <chrono>
#include <string>

#include <gtest/gtest.h>

#include "station/bench.h"

namespace limegate::station {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

constexpr auto kAccepted = Answer::Verdict::accepted;
constexpr Duration kDay = 24h;

WriteEntry entry(const std::string& what, const std::string& value = "",
                 const std::string& unit = "") {
  return {{{}, what, value, unit, ""}};
}
WriteEntry earlier(WriteEntry what, WallTime when) {
  what.at = when;
  return what;
}

/// A station that has run for so long, all of it observed.
Bench of_age(Duration lifetime) {
  History history;
  history.lifetime_before_boot = lifetime - 100h;
  return Bench{Bench::usual(), history};
}
care::UpkeepItem item(const Bench& bench, care::Chore chore) {
  return bench.core.status(bench.now).upkeep.at(static_cast<std::size_t>(chore));
}

TEST(UpkeepWatch, says_nothing_on_the_first_days) {
  Bench bench = of_age(5 * kDay);
  bench.run(1h);
  EXPECT_FALSE(bench.alert_stands("upkeep-refill"));
  EXPECT_FALSE(bench.core.status(bench.now).powder);
}

TEST(UpkeepWatch, tells_what_is_due_once_and_ends_it_when_it_is_done) {
  Bench bench = of_age(31 * kDay);
  bench.run(1h);
  EXPECT_EQ(bench.raised("upkeep-clean"), 1U);
  EXPECT_TRUE(bench.alert_stands("upkeep-clean"));
  ASSERT_EQ(bench.command(entry("cleaned")).verdict, kAccepted);
  bench.run(1s);
  EXPECT_FALSE(bench.alert_stands("upkeep-clean"));
  EXPECT_EQ(item(bench, care::Chore::clean).state, care::UpkeepItem::State::fine);
  ASSERT_EQ(bench.command(UndoEntry{1}).verdict, kAccepted);
  bench.run(1s);
  EXPECT_TRUE(bench.alert_stands("upkeep-clean")) << "what was taken back was not done";
}

// Found by a review: nothing was dosed, and all was said to be well.
TEST(UpkeepWatch, tells_of_a_commissioning_that_was_left_half_way) {
  Bench bench = of_age(5 * kDay);
  ASSERT_EQ(bench.command(SetDayVolume{Millilitres{0.0}}).verdict, kAccepted);
  const WriteEntry step = entry("step", "reference", "skipped");
  ASSERT_EQ(bench.command(step).verdict, kAccepted);
  bench.run(2min);
  EXPECT_FALSE(bench.alert_stands("commissioning-waits")) << "it takes days";
  Bench later{Bench::usual(), bench.history(), {bench.now.mono + 97h, bench.now.wall + 97h, true}};
  later.run(2min);
  EXPECT_TRUE(later.alert_stands("commissioning-waits"));
  ASSERT_EQ(later.command(SetDayVolume{Millilitres{500.0}}).verdict, kAccepted);
  later.run(11min);
  EXPECT_FALSE(later.alert_stands("commissioning-waits"));
}

TEST(UpkeepWatch, of_a_commissioning_that_is_over_tells_nothing) {
  Bench bench = of_age(5 * kDay);
  ASSERT_EQ(bench.command(SetDayVolume{Millilitres{0.0}}).verdict, kAccepted);
  ASSERT_EQ(bench.command(entry("step", "half-dose", "done")).verdict, kAccepted);
  Bench later{Bench::usual(), bench.history(), {bench.now.mono + 97h, bench.now.wall + 97h, true}};
  later.run(2min);
  EXPECT_FALSE(later.alert_stands("commissioning-waits")) << "silent by wish";
}

// An entry of 29 days ago is due in a day, by whichever clock is further.
TEST(UpkeepWatch, goes_by_the_date_of_the_entry) {
  Bench bench = of_age(5 * kDay);
  ASSERT_EQ(bench.command(earlier(entry("cleaned"), bench.now.wall - 29 * kDay)).verdict,
            kAccepted);
  bench.run(1s);
  EXPECT_FALSE(bench.alert_stands("upkeep-clean"));
  bench.run(kDay);
  EXPECT_TRUE(bench.alert_stands("upkeep-clean"));
  Bench switched_off_for_a_month = of_age(5 * kDay);
  ASSERT_EQ(switched_off_for_a_month.command(entry("cleaned")).verdict, kAccepted);
  Moment later = switched_off_for_a_month.now;
  later.wall += 31 * kDay;
  Bench after{Bench::usual(), switched_off_for_a_month.history(), later};
  after.run(1s);
  EXPECT_TRUE(after.alert_stands("upkeep-clean"));
  later.wall_trusted = false;
  Bench unset{Bench::usual(), switched_off_for_a_month.history(), later};
  unset.run(1s);
  EXPECT_FALSE(unset.alert_stands("upkeep-clean")) << "a clock that nobody set says nothing";
}

// Saturated limewater of 25 degC holds 1.504 g/L (CARE.md, section 6): of 120 g half comes into
// solution at the least, 60 g.
TEST(UpkeepWatch, counts_the_powder_by_what_was_given) {
  Bench bench = of_age(5 * kDay);
  ASSERT_EQ(bench.command(entry("powder", "120", "g")).verdict, kAccepted);
  bench.run(kDay);
  const Status status = bench.core.status(bench.now);
  ASSERT_TRUE(status.powder);
  ASSERT_TRUE(status.given_in_all);
  const double spent = status.given_in_all->count() * 1.504e-3;
  EXPECT_GT(spent, 0.9);
  EXPECT_NEAR(status.powder->left_g.low, 60.0 - spent, 0.02);
  EXPECT_NEAR(status.powder->left_g.high, 108.0 - spent, 0.02);
}

TEST(UpkeepWatch, of_powder_knows_nothing_once_the_record_is_lost) {
  Bench bench = of_age(5 * kDay);
  bench.run(3h);
  ASSERT_EQ(bench.command(entry("powder", "120", "g")).verdict, kAccepted);
  for (const bool older : {false, true}) {
    History history = bench.history();
    // Not known any more; or a copy from before the entry was put back beside it.
    history.given_in_all = older ? std::optional{Millilitres{0.0}} : std::nullopt;
    Bench after{Bench::usual(), history, bench.now};
    after.run(1s);
    EXPECT_FALSE(after.core.status(after.now).powder) << older;
    EXPECT_NE(item(after, care::Chore::refill).state, care::UpkeepItem::State::due)
        << "14 days after it was put in, as nothing better is known";
  }
}

// 0.1 off a hand test (CARE.md, section 7). The bench's probe shows 8.20 to 8.21.
TEST(UpkeepWatch, compares_a_ph_by_hand_with_the_probe) {
  Bench bench = of_age(5 * kDay);
  bench.run(1h);
  ASSERT_EQ(bench.command(entry("ph", "8.15", "pH")).verdict, kAccepted);
  bench.run(1s);
  EXPECT_FALSE(bench.alert_stands("upkeep-calibrate"));
  ASSERT_EQ(bench.command(entry("ph", "8.02", "pH")).verdict, kAccepted);
  bench.run(1s);
  EXPECT_TRUE(bench.alert_stands("upkeep-calibrate"));
  bench.run(10min);
  ASSERT_EQ(bench.command(entry("calibrated")).verdict, kAccepted);
  bench.run(1s);
  EXPECT_FALSE(bench.alert_stands("upkeep-calibrate"));
  // Of yesterday: the probe showed something else then, and nobody knows what.
  ASSERT_EQ(bench.command(earlier(entry("ph", "8.00", "pH"), bench.now.wall - 20min)).verdict,
            kAccepted);
  bench.run(1s);
  EXPECT_FALSE(bench.alert_stands("upkeep-calibrate"));
}

TEST(UpkeepWatch, holds_nothing) {
  Bench bench = of_age(400 * kDay);
  EXPECT_TRUE(bench.until<RunEffect>(4h));
  EXPECT_TRUE(bench.alert_stands("upkeep-refill"));
}

}  // namespace
}  // namespace limegate::station
