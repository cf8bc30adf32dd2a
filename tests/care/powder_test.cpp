// Powder by mass balance, worked by hand. The station is a scenario of our own.

#include "care/powder.h"

#include <chrono>

#include <gtest/gtest.h>

#include "chemistry/limewater.h"

namespace limegate::care {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

constexpr Duration kDay = 24h;
const WallTime kStart{std::chrono::sys_days{std::chrono::year{2026} / 9 / 1}};

/// A reactor of 150 mm at 22 °C, of which each litre takes 1.529 g (CARE.md, section 10).
Site site() {
  return {Litres{320}, Millilitres{3200}, Millilitres{3200}, Dkh{0.0003618},
          Reactor{Millimetres{150}, 0.001529}};
}

/// So much a day for so many days.
Book dosed(double ml, int days) {
  Book book;
  for (int day = 0; day < days; ++day) {
    book.entries.push_back({kStart + day * kDay, LimewaterGiven{Millilitres{ml}}});
  }
  return book;
}
void put(Book& book, Duration after, Entry::What what) {
  book.entries.push_back({kStart + after, std::move(what)});
  std::stable_sort(book.entries.begin(), book.entries.end(),
                   [](const Entry& a, const Entry& b) { return a.at < b.at; });
}
PowderAdded grams(double count) { return {Kilograms{count / 1000.0}}; }

std::optional<Powder> after(const Book& book, Duration time, const Site& where = site()) {
  return powder_of(book, Supply{book, kStart + time}, where, kStart + time);
}

// "10 cm 90–120 g, 15 cm 120–150 g, 25 cm 150–180 g" (common practice, TRADE.md).
TEST(Powder, charges_by_the_bore_of_the_vessel) {
  const auto charge = [](double mm) { return charge_of(Millimetres{mm}); };
  EXPECT_EQ(charge(100).low, 90);
  EXPECT_EQ(charge(100).high, 120);
  EXPECT_EQ(charge(150).low, 120);
  EXPECT_EQ(charge(150).high, 150);
  EXPECT_EQ(charge(250).low, 150);
  EXPECT_EQ(charge(250).high, 180);
  EXPECT_EQ(charge(125).low, 105);
  EXPECT_EQ(charge(50).high, 60);
  EXPECT_EQ(charge(400).high, 180);
  EXPECT_EQ(charge(0).high, 0);
}

// CARE.md, section 10: 1.6 L take 2.45 g, and 130 g at 85 % last 45 days; so at half 26.6 and at
// nine tenths 47.8. After ten days 24.5 g are gone.
TEST(Powder, lasts_as_long_as_worked_by_hand) {
  Book book = dosed(1600, 10);
  put(book, 0h, grams(130));
  const auto fresh = after(book, 0h);
  ASSERT_TRUE(fresh && fresh->days);
  EXPECT_NEAR(fresh->days->low, 65.0 / 2.446, 0.1);
  EXPECT_NEAR(fresh->days->high, 117.0 / 2.446, 0.1);
  EXPECT_EQ(fresh->refill_g.low, 0.0);
  EXPECT_NEAR(fresh->refill_g.high, 20.0, 1e-9) << "a vessel of 150 mm takes 120 to 150 g";
  const auto later = after(book, 10 * kDay);
  ASSERT_TRUE(later && later->days);
  EXPECT_NEAR(later->left_g.low, 65.0 - 24.46, 0.1);
  EXPECT_NEAR(later->left_g.high, 117.0 - 24.46, 0.1);
  EXPECT_NEAR(later->refill_g.low, 120.0 - (130.0 - 24.46), 0.1);
  EXPECT_NEAR(later->refill_g.high, 150.0 - (130.0 - 24.46), 0.1);
}

// 74.093 g/mol and two charges (CARE.md, section 6): 1.545, 1.504 and 1.460 g/L at 20, 25 and 30 °C
// within the 6 % that series of the solubility differ by.
TEST(Powder, of_a_litre_is_what_chemistry_says) {
  for (const auto& [temperature, expected] :
       {std::pair{20.0, 1.545}, {25.0, 1.504}, {30.0, 1.460}}) {
    const auto limewater = chemistry::saturated_limewater(Celsius{temperature});
    ASSERT_TRUE(limewater);
    EXPECT_NEAR(chemistry::powder_grams(*limewater, Millilitres{1000.0}), expected,
                0.06 * expected);
  }
}

TEST(Powder, is_never_less_than_none_and_a_refill_counts_from_its_own_day) {
  Book book = dosed(3200, 60);  // 4.89 g a day
  put(book, 0h, grams(100));
  put(book, 40 * kDay, grams(50));
  const auto empty = after(book, 40 * kDay - 1h);
  ASSERT_TRUE(empty);
  EXPECT_EQ(empty->left_g.low, 0.0);
  EXPECT_EQ(empty->left_g.high, 0.0);
  const auto refilled = after(book, 40 * kDay);
  ASSERT_TRUE(refilled);
  EXPECT_NEAR(refilled->left_g.low, 25.0, 1e-6) << "what had been spent beyond it is no debt";
  EXPECT_NEAR(refilled->left_g.high, 45.0, 1e-6);
}

TEST(Powder, is_unknown_after_a_cleaning_until_there_is_a_charge) {
  Book book = dosed(1600, 30);
  put(book, 0h, grams(130));
  put(book, 10 * kDay, ReactorCleaned{});
  EXPECT_TRUE(after(book, 10 * kDay - 1h));
  EXPECT_FALSE(after(book, 10 * kDay));
  put(book, 10 * kDay + 1h, grams(140));
  const auto again = after(book, 10 * kDay + 1h);
  ASSERT_TRUE(again);
  EXPECT_NEAR(again->left_g.high, 126.0, 0.1);
}

TEST(Powder, is_unknown_without_a_charge_a_reactor_or_what_was_given) {
  Book book = dosed(1600, 5);
  EXPECT_FALSE(after(book, 3 * kDay)) << "no charge";
  put(book, 4 * kDay, grams(130));
  EXPECT_FALSE(after(book, 3 * kDay)) << "it is still to come";
  EXPECT_TRUE(after(book, 4 * kDay));
  Site unknown = site();
  unknown.reactor.reset();
  EXPECT_FALSE(after(book, 4 * kDay, unknown));
  Book undosed;
  put(undosed, 0h, grams(130));
  EXPECT_FALSE(after(undosed, 1h));
}

TEST(Powder, lasts_for_no_number_of_days_while_nothing_is_given) {
  Book book = dosed(0, 5);
  put(book, 0h, grams(130));
  const auto resting = after(book, 4 * kDay);
  ASSERT_TRUE(resting);
  EXPECT_FALSE(resting->days);
  EXPECT_NEAR(resting->left_g.high, 117.0, 1e-9);
}

}  // namespace
}  // namespace limegate::care
