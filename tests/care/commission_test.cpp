// The steps from an empty reactor to the half dose: their order, what is next by the book, and what
// a step can't be said to be done without. The station is a scenario of our own.

#include "care/commission.h"

#include <chrono>
#include <string>
#include <utility>
#include <vector>

#include <gtest/gtest.h>

#include "care/advice.h"
#include "care/commission_words.h"
#include "care/entry_reader.h"
#include "chemistry/dose.h"
#include "chemistry/limewater.h"
#include "support/program.h"

namespace limegate::care {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using test::contains;
using How = StepTaken::How;
using State = StepShown::State;

const WallTime kNow{std::chrono::sys_days{std::chrono::year{2026} / 9 / 30}};

Book book_of(const std::vector<Entry::What>& what) {
  Book book;
  for (const Entry::What& one : what) {
    book.entries.push_back({kNow - 1h, one});
  }
  return book;
}
Entry::What done(Step step) { return StepTaken{step}; }
Entry::What grams(double count) { return PowderAdded{Kilograms{count / 1000.0}}; }
Entry::What ran(double rate) { return RateMeasured{MillilitresPerMinute{rate}}; }

StationSays sound() {
  StationSays says;
  says.pump_confirmed_off = says.stirrer_confirmed_off = true;
  return says;
}

TEST(Commission, steps_have_an_order_and_a_name_each) {
  const auto steps = steps_of({});
  ASSERT_EQ(steps.size(), 12U);
  EXPECT_EQ(steps.front().step, Step::place);
  EXPECT_EQ(steps.back().step, Step::half_dose);
  for (const StepShown& one : steps) {
    EXPECT_EQ(step_named(name_of(one.step)), one.step);
    EXPECT_EQ(one.state, one.step == Step::place ? State::next : State::open);
  }
  EXPECT_FALSE(step_named("dance"));
  EXPECT_EQ(next_of(steps), Step::place);
}

TEST(Commission, goes_on_at_the_first_that_was_neither_done_nor_skipped) {
  auto steps = steps_of(book_of(
      {done(Step::place), StepTaken{Step::facts, How::skipped, "later"}, done(Step::water)}));
  EXPECT_EQ(steps[0].state, State::done);
  EXPECT_EQ(steps[0].at, kNow - 1h);
  EXPECT_EQ(steps[1].state, State::skipped);
  EXPECT_EQ(steps[1].note, "later");
  EXPECT_EQ(steps[2].state, State::next);
  EXPECT_EQ(steps[3].state, State::done);
  EXPECT_EQ(next_of(steps), Step::charge);
  // The newest entry of a step counts.
  steps = steps_of(book_of({StepTaken{Step::place, How::skipped}, done(Step::place)}));
  EXPECT_EQ(steps[0].state, State::done);
  std::vector<Entry::What> all;
  all.reserve(kSteps.size());
  for (const Step step : kSteps) {
    all.push_back(done(step));
  }
  EXPECT_FALSE(next_of(steps_of(book_of(all))));
}

TEST(Commission, is_an_entry_of_the_book_like_others) {
  Written row{kNow, "Step", "half-dose", "skipped", "a note"};
  const auto entry = read_entry(row);
  ASSERT_TRUE(entry) << entry.error();
  const auto& taken = std::get<StepTaken>(entry->what);
  EXPECT_EQ(taken.step, Step::half_dose);
  EXPECT_EQ(taken.how, How::skipped);
  EXPECT_EQ(taken.note, "a note");
  EXPECT_EQ(row.what, "step");
  for (const auto& [value, unit] : std::vector<std::pair<std::string, std::string>>{
           {"dance", "done"}, {"place", ""}, {"place", "perhaps"}, {"", "done"}, {"", ""}}) {
    Written bad{kNow, "step", value, unit};
    const auto refused = read_entry(bad);
    ASSERT_FALSE(refused) << value << " " << unit;
    EXPECT_TRUE(contains(refused.error(), "is no step")) << refused.error();
  }
}

TEST(Commission, knows_the_powder_and_the_runs_of_this_time) {
  const Book book =
      book_of({grams(100), done(Step::facts), grams(60), grams(70), done(Step::charge), ran(40),
               done(Step::prime), ran(49), ran(50), StepTaken{Step::place}, ran(51)});
  EXPECT_DOUBLE_EQ(charged(book), 130.0);
  const auto runs = runs_of(book);
  ASSERT_EQ(runs.size(), 3U);
  EXPECT_EQ(runs[0].count(), 49.0);
  EXPECT_DOUBLE_EQ(charged(book_of({grams(100)})), 100.0);
}

TEST(Commission, takes_a_step_for_done_only_where_book_and_station_say_so) {
  const auto why = [](Step step, const Book& book, const StationSays& says = sound()) {
    return lacking(step, book, says, kNow);
  };
  for (const Step step : {Step::place, Step::facts, Step::water, Step::prime, Step::half_dose}) {
    EXPECT_EQ(why(step, {}), "");
  }
  EXPECT_TRUE(contains(why(Step::charge, {}), "no powder"));
  EXPECT_EQ(why(Step::charge, book_of({grams(130)})), "");
  EXPECT_TRUE(contains(why(Step::rate, book_of({ran(50), ran(50)})), "2 of 3"));
  EXPECT_EQ(why(Step::rate, book_of({ran(50), ran(50), ran(50)})), "");
  StationSays file = sound();
  file.pump_rate = MillilitresPerMinute{48.0};
  EXPECT_EQ(why(Step::rate, book_of({ran(50), ran(50), ran(50)}), file), "");
  file.pump_rate = MillilitresPerMinute{47.0};
  EXPECT_TRUE(contains(why(Step::rate, book_of({ran(50), ran(50), ran(50)}), file),
                       "rate_ml_per_min = 50.0"));
  EXPECT_TRUE(contains(why(Step::probe, {}), "no calibration"));
  EXPECT_EQ(why(Step::probe, book_of({done(Step::rate), ProbeCalibrated{}})), "");
  EXPECT_TRUE(
      contains(why(Step::probe, book_of({ProbeCalibrated{}, done(Step::rate)})), "no calibration"))
      << "of an earlier time";
}

TEST(Commission, waits_for_clear_limewater_and_outlets_that_are_off) {
  for (const char* hold : {"switched-off", "stirrer-running", "settling", "stirrer-unknown"}) {
    StationSays says = sound();
    says.holds = {"paused", hold};
    EXPECT_TRUE(contains(lacking(Step::settle, {}, says, kNow), hold)) << hold;
  }
  StationSays says = sound();
  says.holds = {"paused", "climbing"};
  EXPECT_EQ(lacking(Step::settle, {}, says, kNow), "");
  EXPECT_EQ(lacking(Step::proof, {}, says, kNow), "");
  says.pump_confirmed_off = false;
  EXPECT_TRUE(contains(lacking(Step::proof, {}, says, kNow), "read back"));
  says = sound();
  says.holds = {"pump-timer-failed"};
  EXPECT_TRUE(contains(lacking(Step::proof, {}, says, kNow), "pump-timer-failed"));
}

// 7 to 11 dKH and 380 to 450 mg/L (common practice, CARE.md, section 3).
TEST(Commission, wants_calcium_and_alkalinity_in_range_by_other_means) {
  const auto with = [](double dkh, double calcium, Duration age = 1h) {
    Book book;
    book.entries.push_back({kNow - age, AlkalinityTest{Dkh{dkh}}});
    book.entries.push_back({kNow - 1h, CalciumTest{MgPerLitre{calcium}}});
    return lacking(Step::tests, book, sound(), kNow);
  };
  EXPECT_EQ(with(7.0, 380), "");
  EXPECT_EQ(with(11.0, 450), "");
  for (const auto& [dkh, calcium] :
       std::vector<std::pair<double, double>>{{6.9, 420}, {11.1, 420}, {8, 379}, {8, 451}}) {
    EXPECT_TRUE(contains(with(dkh, calcium), "with other means, not with this")) << dkh;
  }
  EXPECT_TRUE(contains(with(8, 420, 24h * 15), "No test of alkalinity within 14 days"));
  EXPECT_EQ(with(8, 420, 24h * 14), "");
  const std::string none = lacking(Step::tests, {}, sound(), kNow);
  EXPECT_TRUE(contains(none, "No test of alkalinity")) << none;
  EXPECT_TRUE(contains(none, "No test of calcium")) << none;
  const Book sick = book_of({AlkalinityTest{Dkh{5}}, CalciumTest{MgPerLitre{420}}});
  EXPECT_TRUE(contains(lacking_alkalinity(sick, kNow), "Alkalinity was tested at 5 dKH"));
  EXPECT_EQ(lacking_calcium(sick, kNow), "");
}

TEST(Commission, counts_undosed_days) {
  StationSays says = sound();
  EXPECT_TRUE(contains(lacking(Step::reference, {}, says, kNow), "0 of 3 undosed days"));
  says.course_days = 2;
  EXPECT_TRUE(contains(lacking(Step::reference, {}, says, kNow), "2 of 3 undosed days"));
  says.course_days = 3;
  EXPECT_EQ(lacking(Step::reference, {}, says, kNow), "") << "nothing was ever dosed";
  says.undosed = 72h;
  EXPECT_EQ(lacking(Step::reference, {}, says, kNow), "");
  says.undosed = 70h;
  EXPECT_TRUE(contains(lacking(Step::reference, {}, says, kNow), "with doses, too"));
  says.reference_known = true;
  EXPECT_EQ(lacking(Step::reference, {}, says, kNow), "");
}

// CARE.md, section 10: 320 L, 3.2 L a day evaporate, the reactor at 22 °C. Half of it is 1.6 L,
// which is 0.579 dKH a day; "1.38 L until D is known".
TEST(Commission, begins_with_half_of_the_evaporation_or_half_a_degree) {
  const auto limewater = chemistry::saturated_limewater(Celsius{22});
  ASSERT_TRUE(limewater);
  const auto each = chemistry::daily_addition(Litres{320}, *limewater, Millilitres{1}, Litres{3.2});
  ASSERT_TRUE(each);
  Site site{Litres{320}, Millilitres{3200}, Millilitres{3200}, each->alkalinity};
  EXPECT_NEAR(first_volume_of(site).count(), 1380.0, 5.0);
  site.evaporation_per_day = Millilitres{2000};
  EXPECT_DOUBLE_EQ(first_volume_of(site).count(), 1000.0);
  site.most_per_day = Millilitres{800};
  EXPECT_DOUBLE_EQ(first_volume_of(site).count(), 800.0);
}

// "10 cm 90-120 g, 15 cm 120-150 g, 25 cm 150-180 g" (common practice, TRADE.md).
TEST(Commission, tells_the_charge_by_the_bore_and_its_cautions) {
  for (const auto& [bore, says] : std::vector<std::pair<double, std::string>>{
           {100, "90 to 120 g"}, {150, "120 to 150 g"}, {250, "150 to 180 g"}}) {
    const Plant plant{
        Litres{320}, Millilitres{3200}, Millimetres{bore}, MillilitresPerMinute{50}, 20min,
        true,        Millilitres{1380}};
    const std::string text = asks_of(Step::charge, plant);
    EXPECT_TRUE(contains(text, says)) << text;
    for (const char* caution : {"Goggles, gloves", "15 min at least", "no vomiting", "children"}) {
      EXPECT_TRUE(contains(text, caution)) << caution;
    }
    for (const Step step : kSteps) {
      EXPECT_FALSE(asks_of(step, plant).empty());
      EXPECT_FALSE(cost_of_skipping(step).empty());
    }
  }
}

}  // namespace
}  // namespace limegate::care
