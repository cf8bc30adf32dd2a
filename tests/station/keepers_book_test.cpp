#include "station/keepers_book.h"

#include <chrono>
#include <ostream>

#include <gtest/gtest.h>

#include "station/bench.h"
#include "units/iso8601.h"

namespace limegate::station {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

constexpr auto kAccepted = Answer::Verdict::accepted;
constexpr auto kRefused = Answer::Verdict::refused;

/// Two hours before whatever the test asks.
WriteEntry entry(const std::string& what, const std::string& value, const std::string& unit,
                 const std::string& kit = "") {
  return {{{}, what, value, unit, kit}};
}
WriteEntry alkalinity(const std::string& dkh) { return entry("alkalinity", dkh, "dKH"); }

WriteEntry at(WriteEntry what, WallTime when) {
  what.at = when;
  return what;
}
WriteEntry sure(WriteEntry what) {
  what.said = WriteEntry::Said::again;
  return what;
}

std::size_t standing(const Bench& bench) {
  std::size_t count = 0;
  for (const BookEntry& one : bench.core.book().entries()) {
    count += one.undone ? 0U : 1U;
  }
  return count;
}

double newest(const Bench& bench) {
  const auto tested = bench.core.book().newest_alkalinity();
  return tested ? tested->level.count() : 0.0;
}

TEST(KeepersBook, takes_an_entry_writes_it_down_and_says_its_number) {
  Bench bench;
  const Answer answer = bench.command(entry("Alkalinity", "2.9", "meq/l", "drops"));
  EXPECT_EQ(answer.verdict, kAccepted);
  EXPECT_EQ(answer.sentence, "Entry 1: alkalinity 2.9 meq/L at " + iso8601(bench.now.wall) + ".");
  ASSERT_EQ(bench.core.book().entries().size(), 1U);
  const auto stored = bench.newest<StoreBookEntry>();
  ASSERT_TRUE(stored);
  EXPECT_EQ(stored->entry.row,
            (care::Written{bench.now.wall, "alkalinity", "2.9", "meq/L", "drops"}));
  EXPECT_TRUE(bench.core.book().is_durable(1));
  EXPECT_NEAR(newest(bench), 8.13, 0.01);  // 1 meq/L is 2.804 dKH (TRADE.md)
}

TEST(KeepersBook, takes_nothing_from_afar) {
  Bench bench;
  EXPECT_EQ(bench.command(alkalinity("8.1"), Origin::afar).verdict, kRefused);
  ASSERT_EQ(bench.command(alkalinity("8.1")).verdict, kAccepted);
  EXPECT_EQ(bench.command(UndoEntry{1}, Origin::afar).verdict, kRefused);
  EXPECT_EQ(standing(bench), 1U);
}

TEST(KeepersBook, takes_an_entry_back_and_keeps_its_history) {
  Bench bench;
  ASSERT_EQ(bench.command(alkalinity("8.1")).verdict, kAccepted);
  bench.run(1h);
  ASSERT_EQ(bench.command(alkalinity("8.4")).verdict, kAccepted);
  EXPECT_EQ(newest(bench), 8.4);
  EXPECT_EQ(bench.command(UndoEntry{2}).verdict, kAccepted);
  EXPECT_EQ(newest(bench), 8.1);
  EXPECT_EQ(bench.core.book().entries().size(), 2U);
  EXPECT_EQ(bench.newest<StoreBookEntry>()->entry.undone, bench.now.wall);
  const Answer again = bench.command(UndoEntry{2});
  EXPECT_EQ(again.verdict, kRefused);
  EXPECT_NE(again.sentence.find("was taken back before"), std::string::npos) << again.sentence;
  for (const std::int64_t number : {std::int64_t{0}, std::int64_t{3}, std::int64_t{-1}}) {
    EXPECT_EQ(bench.command(UndoEntry{number}).verdict, kRefused) << number;
  }
  // What was taken back may be said again: it was another mistake.
  EXPECT_EQ(bench.command(at(alkalinity("8.4"), bench.now.wall)).verdict, kAccepted);
  EXPECT_EQ(bench.core.book().entries().back().number, 3);
}

TEST(KeepersBook, goes_by_the_time_of_a_test_and_not_by_that_of_its_writing) {
  Bench bench;
  ASSERT_EQ(bench.command(alkalinity("8.1")).verdict, kAccepted);
  ASSERT_EQ(bench.command(at(alkalinity("8.6"), bench.now.wall - 48h)).verdict, kAccepted);
  EXPECT_EQ(newest(bench), 8.1);
}

TEST(KeepersBook, is_there_again_after_a_restart_and_goes_on_counting) {
  Bench before;
  ASSERT_EQ(before.command(alkalinity("8.1")).verdict, kAccepted);
  ASSERT_EQ(before.command(entry("cleaned", "", "")).verdict, kAccepted);
  ASSERT_EQ(before.command(UndoEntry{2}).verdict, kAccepted);
  Bench after{Bench::usual(), before.history(), before.now};
  EXPECT_EQ(after.core.book().entries().size(), 2U);
  EXPECT_EQ(standing(after), 1U);
  EXPECT_EQ(newest(after), 8.1);
  ASSERT_EQ(after.command(entry("cleaned", "", "")).verdict, kAccepted);
  EXPECT_EQ(after.core.book().entries().back().number, 3);
}

TEST(KeepersBook, that_cannot_be_written_takes_nothing_holds_nothing_and_says_so) {
  Bench bench;
  bench.run(2h);
  ASSERT_EQ(bench.command(alkalinity("8.1")).verdict, kAccepted);
  bench.see(LedgerFault{"disk full"});
  for (const Command& command : {Command{alkalinity("8.3")}, Command{UndoEntry{1}}}) {
    const Answer answer = bench.command(command);
    EXPECT_EQ(answer.verdict, kRefused);
    EXPECT_NE(answer.sentence.find("disk full"), std::string::npos) << answer.sentence;
    EXPECT_NE(answer.sentence.find("Nothing was "), std::string::npos) << answer.sentence;
  }
  EXPECT_EQ(newest(bench), 8.1);
}

// The write fails after it was taken: it is not lost while the program runs.
TEST(KeepersBook, writes_again_what_could_not_be_written) {
  Bench bench;
  bench.ledger_answers = false;
  ASSERT_EQ(bench.command(alkalinity("8.1")).verdict, kAccepted);
  EXPECT_FALSE(bench.core.book().is_durable(1));
  bench.see(LedgerFault{"disk full"});
  EXPECT_EQ(newest(bench), 8.1);
  bench.ledger_answers = true;
  const std::size_t before = bench.count<StoreBookEntry>();
  bench.see(LedgerSound{});
  bench.second();
  EXPECT_EQ(bench.count<StoreBookEntry>(), before + 1);
  EXPECT_TRUE(bench.core.book().is_durable(1));
  bench.see(LedgerSound{});
  bench.second();
  EXPECT_EQ(bench.count<StoreBookEntry>(), before + 1) << "what is on the disk stays there";
}

// The file was lost while the program ran, and begun anew.
TEST(KeepersBook, is_written_whole_into_a_record_that_lacks_it) {
  Bench bench;
  ASSERT_EQ(bench.command(alkalinity("8.1")).verdict, kAccepted);
  ASSERT_EQ(bench.command(entry("cleaned", "", "")).verdict, kAccepted);
  ASSERT_EQ(bench.command(UndoEntry{2}).verdict, kAccepted);
  History again = bench.history();
  const auto rows_for = [&] {
    bench.see(LedgerFault{"gone"});
    const std::size_t before = bench.count<StoreBookEntry>();
    bench.core.recount(bench.now, again);
    bench.see(LedgerSound{});
    bench.second();
    return bench.count<StoreBookEntry>() - before;
  };
  EXPECT_EQ(rows_for(), 0U);
  again.book.pop_back();
  EXPECT_EQ(rows_for(), 1U);
  again.book.clear();
  EXPECT_EQ(rows_for(), 2U);
}

TEST(KeepersBook, wants_a_clock_that_was_set) {
  Bench bench;
  bench.now.wall_trusted = false;
  const Answer answer = bench.command(alkalinity("8.1"));
  EXPECT_EQ(answer.verdict, kRefused);
  EXPECT_NE(answer.sentence.find("trust-clock"), std::string::npos) << answer.sentence;
}

TEST(KeepersBook, beyond_its_bound_keeps_steps_and_the_newest_of_each_kind) {
  History history;
  const auto add = [&](const std::string& what, const std::string& value) {
    const auto number = static_cast<std::int64_t>(history.book.size()) + 1;
    history.book.push_back(
        {number, {}, {WallTime{500000h} - 10000h + std::chrono::seconds{number}, what, value, ""}});
  };
  add("step", "place");
  add("calibrated", "");
  add("step", "facts");
  history.book[1].row.at = WallTime{500000h};  // all others were imported later, and are older
  while (history.book.size() < KeepersBook::kEntriesMost + 7) {
    add("alkalinity", "8." + std::to_string(history.book.size() % 10));
  }
  const Bench bench{Bench::usual(), history};
  const std::vector<BookEntry>& kept = bench.core.book().entries();
  ASSERT_EQ(kept.size(), KeepersBook::kEntriesMost);
  EXPECT_EQ(kept[0].number, 1);
  EXPECT_EQ(kept[1].number, 2);
  EXPECT_EQ(kept[2].number, 3);
  EXPECT_EQ(kept[3].number, 4 + 7);
}

TEST(KeepersBook, hands_many_entries_to_the_ledger_a_hundred_a_second) {
  Bench bench;
  bench.ledger_answers = false;
  for (int i = 0; i < 250; ++i) {
    ASSERT_EQ(bench
                  .command(at(entry("calcium", std::to_string(400 + i % 20), "mg/L"),
                              bench.now.wall - std::chrono::hours{2 * i}))
                  .verdict,
              kAccepted);
  }
  bench.see(LedgerFault{"slow"});
  bench.ledger_answers = true;
  const std::size_t before = bench.count<StoreBookEntry>();
  bench.see(LedgerSound{});
  bench.second();
  EXPECT_EQ(bench.count<StoreBookEntry>() - before, 100U);
  bench.run(3s);
  EXPECT_EQ(bench.count<StoreBookEntry>() - before, 250U);
  EXPECT_TRUE(bench.core.book().is_durable(250));
}

// The file says 40 mL/min, and two measures may differ by 5 %.
TEST(KeepersBook, a_rate_above_the_files_halves_what_is_given_and_a_lower_one_changes_nothing) {
  Bench bench;
  ASSERT_EQ(bench.command(entry("rate", "41", "mL/min")).verdict, kAccepted);
  EXPECT_EQ(bench.core.status(bench.now).halved, "");
  ASSERT_EQ(bench.command(at(entry("rate", "90", "mL/min"), bench.now.wall - 24h)).verdict,
            kAccepted)
      << "of a former pump";
  EXPECT_EQ(bench.core.status(bench.now).halved, "");
  const Answer more = bench.command(entry("rate", "48", "mL/min"));
  EXPECT_EQ(more.verdict, kAccepted);
  EXPECT_NE(more.sentence.find("rate_ml_per_min = 48.0"), std::string::npos) << more.sentence;
  EXPECT_NE(bench.core.status(bench.now).halved, "");
}

TEST(KeepersBook, asks_about_powder_beyond_what_the_vessel_takes_with_what_is_in_it) {
  Bench bench;
  ASSERT_EQ(bench.command(entry("powder", "110", "g")).verdict, kAccepted);
  bench.run(1s);
  const Answer again = bench.command(entry("powder", "100", "g"));
  EXPECT_EQ(again.verdict, kRefused);
  EXPECT_NE(again.sentence.find("may be in it still"), std::string::npos) << again.sentence;
  EXPECT_EQ(bench.command(sure(entry("powder", "100", "g"))).verdict, kAccepted);
}

TEST(KeepersBook, asks_about_a_test_beside_the_one_after_it_too) {
  Bench bench;
  ASSERT_EQ(bench.command(alkalinity("8.1")).verdict, kAccepted);
  const Answer before = bench.command(at(alkalinity("9.9"), bench.now.wall - 12min));
  EXPECT_NE(before.sentence.find("12 min after it said 8.1 dKH"), std::string::npos)
      << before.sentence;
  ASSERT_EQ(bench.command(entry("calcium", "420", "mg/L")).verdict, kAccepted);
  bench.run(2s);
  const Answer metal = bench.command(entry("calcium", "700", "mg/L"));
  EXPECT_NE(metal.sentence.find("before it said 420 mg/L"), std::string::npos) << metal.sentence;
}

TEST(KeepersBook, forgets_the_oldest_beyond_its_bound) {
  History history;
  for (std::size_t i = 1; i <= KeepersBook::kEntriesMost; ++i) {
    history.book.push_back(
        {static_cast<std::int64_t>(i),
         {},
         {WallTime{500000h} - 10000h + std::chrono::seconds{i}, "cleaned", "", ""}});
  }
  Bench bench{Bench::usual(), history};
  ASSERT_EQ(bench.command(alkalinity("8.1")).verdict, kAccepted);
  EXPECT_EQ(bench.core.book().entries().size(), KeepersBook::kEntriesMost);
  EXPECT_EQ(bench.core.book().entries().front().number, 2);
}

/// Said two hours after a test of 8.1 dKH, of 420 mg/L and a charge of 120 g.
struct Row {
  const char* name;
  WriteEntry said;
  Duration later;        ///< than now
  const char* sentence;  ///< a part of the refusal; empty: it is taken
  Answer::Verdict if_sure;
};
void PrintTo(const Row& row, std::ostream* out) { *out << row.name; }

const Row kRows[] = {
    {"a_test", alkalinity("8.3"), 0s, "", kAccepted},
    {"a_test_in_the_next_minute", alkalinity("8.3"), 60s, "", kAccepted},
    {"a_test_two_minutes_ahead", alkalinity("8.3"), 2min, "", kAccepted},
    {"a_test_beyond_that", alkalinity("8.3"), 2min + 1s, "is later than now", kRefused},
    {"a_test_of_next_year", alkalinity("8.3"), 8760h, "is later than now", kRefused},
    {"an_old_test", alkalinity("8.3"), -700h, "", kAccepted},
    {"ten_times", alkalinity("81"), 0s, "can't be true", kRefused},
    {"a_tenth", alkalinity("0.81"), 0s, "said 8.1: is a digit missing", kAccepted},
    {"below_zero", alkalinity("-8.1"), 0s, "can't be true", kRefused},
    {"meq_as_dkh", alkalinity("2.9"), 0s, "rarely true: test again", kAccepted},
    {"a_leap_upwards", alkalinity("9.8"), 0s, "rarely true: test again", kAccepted},
    {"no_leap", alkalinity("9.5"), 0s, "", kAccepted},
    {"at_once_another_value", alkalinity("9.0"), -115min, "A test 5 min before it said 8.1 dKH",
     kAccepted},
    {"at_once_nearly_the_same", alkalinity("8.9"), -115min, "", kAccepted},
    {"the_same_again", alkalinity("8.1"), -120min, "in the book already, as entry 1", kRefused},
    {"calcium_in_dkh", entry("calcium", "8.1", "dKH"), 0s, "can't be in 'dKH'", kRefused},
    {"calcium_a_tenth", entry("calcium", "42", "mg/L"), 0s, "can't be true", kRefused},
    {"a_change_of_more_than_there_is", entry("water_change", "401", "L"), 0s,
     "more than the tank has", kRefused},
    {"a_change_of_all", entry("water_change", "400", "L"), 0s, "", kAccepted},
    {"a_change_below_zero", entry("water_change", "-40", "L"), 0s, "can't be true", kRefused},
    {"a_supplement_ten_times", entry("supplement", "6000", "meq"), 0s, "at once", kRefused},
    {"limewater_by_hand", entry("limewater", "1000", "mL"), 0s, "The station counts", kRefused},
    {"limewater_in_other_letters", entry(" Limewater", "1000", "mL"), 0s, "The station counts",
     kRefused},
    {"powder_beyond_the_vessel", entry("powder", "130", "g"), 0s, "takes, 120 g", kAccepted},
    {"powder_within_it", entry("powder", "110", "g"), 0s, "", kAccepted},
    {"powder_below_zero", entry("powder", "-1", "g"), 0s, "can't be true", kRefused},
    {"a_word_that_is_none", entry("kalk", "8.1", "dKH"), 0s, "is not known here", kRefused},
    {"no_word", entry("", "", ""), 0s, "is not known here", kRefused},
    {"no_number", alkalinity("nan"), 0s, "is no number", kRefused},
    {"a_long_value", alkalinity("8." + std::string(60, '1')), 0s, "60 letters", kRefused},
    {"a_long_kit", entry("alkalinity", "8.3", "dKH", std::string(61, 'k')), 0s, "60 letters",
     kRefused},
};

class KeepersBookTable : public testing::TestWithParam<Row> {};
INSTANTIATE_TEST_SUITE_P(Rows, KeepersBookTable, testing::ValuesIn(kRows),
                         [](const auto& row) { return std::string{row.param.name}; });

TEST_P(KeepersBookTable, takes_it_asks_back_or_refuses_in_a_sentence) {
  Settings settings = Bench::usual();
  settings.plan.reactor_bore = Millimetres{100.0};
  Bench bench{settings};
  ASSERT_EQ(bench.command(alkalinity("8.1")).verdict, kAccepted);
  bench.now.wall += 2h;
  bench.now.mono += 2h;
  const WriteEntry said = at(GetParam().said, bench.now.wall + GetParam().later);
  const Answer once = bench.command(said);
  const std::string part = GetParam().sentence;
  EXPECT_EQ(once.verdict, part.empty() ? kAccepted : kRefused) << once.sentence;
  EXPECT_NE(once.sentence.find(part), std::string::npos) << once.sentence;
  EXPECT_EQ(standing(bench), part.empty() ? 2U : 1U);
  if (!part.empty()) {
    const Answer again = bench.command(sure(said));
    EXPECT_EQ(again.verdict, GetParam().if_sure) << again.sentence;
    EXPECT_EQ(once.sentence.find("--sure") != std::string::npos, GetParam().if_sure == kAccepted)
        << once.sentence;
  }
}

// Another clock than the one by which it was tested says nothing of its order.
TEST(KeepersBook, of_two_tests_of_one_time_goes_by_the_one_that_was_written_last) {
  Bench bench;
  const WallTime when = bench.now.wall - 1h;
  ASSERT_EQ(bench.command(at(alkalinity("8.1"), when)).verdict, kAccepted);
  ASSERT_EQ(bench.command(at(alkalinity("8.2"), when)).verdict, kAccepted);
  EXPECT_EQ(newest(bench), 8.2);
}

std::string held(const Bench& bench) { return bench.held_for("alkalinity-too-high") ? "held" : ""; }

// The rule's own rows are in tests/rules/fact_table_test.cpp.
TEST(TestedAlkalinity, above_its_limit_ends_the_pulse_and_holds_until_a_newer_one_is_below) {
  Bench bench;
  bench.run(2h);
  ASSERT_TRUE(bench.until<RunEffect>());
  ASSERT_EQ(bench.command(sure(alkalinity("11.1"))).verdict, kAccepted);
  bench.run(2s);
  EXPECT_EQ(held(bench), "held");
  EXPECT_NE(bench.phase(), PumpDuty::Phase::running);
  EXPECT_TRUE(bench.alert_stands("alkalinity-too-high"));
  const std::size_t runs = bench.count<AppendPulse>();
  bench.run(5h);
  EXPECT_EQ(bench.count<AppendPulse>(), runs);
  // At the limit is not below it.
  EXPECT_EQ(bench.command(sure(alkalinity("11.0"))).verdict, kAccepted);
  bench.run(2s);
  EXPECT_EQ(held(bench), "held");
  const Answer below = bench.command(sure(alkalinity("10.9")));
  EXPECT_NE(below.sentence.find("Released: alkalinity-too-high"), std::string::npos)
      << below.sentence;
  bench.run(4h);
  EXPECT_EQ(held(bench), "");
  EXPECT_FALSE(bench.alert_stands("alkalinity-too-high"));
  EXPECT_GT(bench.count<AppendPulse>(), runs) << "a healthy station goes on";
}

TEST(TestedAlkalinity, of_an_older_time_releases_nothing) {
  Bench bench;
  ASSERT_EQ(bench.command(sure(alkalinity("12"))).verdict, kAccepted);
  bench.run(1h);
  ASSERT_EQ(bench.command(sure(at(alkalinity("8"), bench.now.wall - 48h))).verdict, kAccepted);
  bench.run(2s);
  EXPECT_EQ(held(bench), "held");
  EXPECT_EQ(bench.command(Release{"alkalinity-too-high"}).verdict, kRefused);
}

TEST(TestedAlkalinity, outlives_a_lost_book_and_a_restart) {
  Bench before;
  ASSERT_EQ(before.command(sure(alkalinity("12"))).verdict, kAccepted);
  before.run(2s);
  History history = before.history();
  history.book.clear();
  Bench after{Bench::usual(), history, before.now};
  after.run(2s);
  EXPECT_EQ(held(after), "held");
  EXPECT_EQ(after.command(Release{"alkalinity-too-high"}).verdict, kRefused);
  EXPECT_EQ(after.command(sure(alkalinity("8"))).verdict, kAccepted);
  after.run(2s);
  EXPECT_EQ(held(after), "");
}

// An older copy of the record is put back: the hold is newer than its book.
TEST(TestedAlkalinity, is_not_released_by_an_older_book) {
  History history;
  history.latches = {"alkalinity-too-high"};
  history.book = {{1, {}, {WallTime{500000h} - 48h, "alkalinity", "8", "dKH"}}};
  Bench bench{Bench::usual(), history};
  bench.run(1h);
  EXPECT_EQ(held(bench), "held");
}

TEST(TestedAlkalinity, that_was_a_slip_is_taken_back_and_then_released) {
  Bench bench;
  ASSERT_EQ(bench.command(alkalinity("8")).verdict, kAccepted);
  bench.run(1h);
  ASSERT_EQ(bench.command(sure(alkalinity("18"))).verdict, kAccepted);
  bench.run(2s);
  ASSERT_EQ(held(bench), "held");
  EXPECT_EQ(bench.command(Release{"alkalinity-too-high"}).verdict, kRefused);
  ASSERT_EQ(bench.command(UndoEntry{2}).verdict, kAccepted);
  bench.run(2s);
  EXPECT_EQ(held(bench), "held") << "a person says so";
  EXPECT_EQ(bench.command(Release{"alkalinity-too-high"}).verdict, kAccepted);
  bench.run(2s);
  EXPECT_EQ(held(bench), "");
}

// Found by a review: opening a bottle released it.
TEST(TestedAlkalinity, that_was_taken_back_is_released_by_a_person_and_by_no_other_entry) {
  Bench bench;
  ASSERT_EQ(bench.command(alkalinity("8")).verdict, kAccepted);
  bench.run(1h);
  ASSERT_EQ(bench.command(sure(alkalinity("13"))).verdict, kAccepted);
  bench.run(2s);
  ASSERT_EQ(bench.command(UndoEntry{2}).verdict, kAccepted);
  for (const WriteEntry& other : {entry("new_kit", "", ""), entry("calcium", "420", "mg/L"),
                                  at(alkalinity("7.9"), bench.now.wall - 48h)}) {
    ASSERT_EQ(bench.command(sure(other)).verdict, kAccepted);
    bench.run(2s);
    EXPECT_EQ(held(bench), "held");
  }
  EXPECT_EQ(bench.command(alkalinity("8.1")).verdict, kAccepted);
  bench.run(2s);
  EXPECT_EQ(held(bench), "");
}

// The clock was a month ahead when it was tested too high, and is right now.
TEST(TestedAlkalinity, is_newer_if_it_was_written_later_whatever_the_clock_said) {
  Bench bench;
  ASSERT_EQ(bench.command(sure(alkalinity("12"))).verdict, kAccepted);
  bench.now.wall -= 720h;
  bench.run(2s);
  EXPECT_EQ(held(bench), "held");
  EXPECT_EQ(bench.command(Release{"alkalinity-too-high"}).verdict, kRefused);
  ASSERT_EQ(bench.command(sure(alkalinity("8"))).verdict, kAccepted);
  bench.run(2s);
  EXPECT_EQ(held(bench), "");
}

TEST(TestedAlkalinity, below_seven_calls_a_person_until_a_newer_one_is_not) {
  Bench bench;
  const auto calls = [&](const char* dkh) {
    bench.run(1h);
    EXPECT_EQ(bench.command(sure(alkalinity(dkh))).verdict, kAccepted);
    bench.run(2s);
    return bench.alert_stands("alkalinity-low");
  };
  EXPECT_FALSE(calls("7.0"));
  EXPECT_TRUE(calls("6.9"));
  EXPECT_EQ(bench.raised("alkalinity-low"), 1U);
  EXPECT_TRUE(calls("6.8"));
  EXPECT_EQ(bench.raised("alkalinity-low"), 1U) << "once";
  Bench after{Bench::usual(), bench.history(), bench.now};
  after.run(2s);
  EXPECT_TRUE(after.alert_stands("alkalinity-low")) << "found again at a start";
  EXPECT_FALSE(calls("7.0"));
  EXPECT_EQ(held(bench), "") << "it holds nothing";
}

/// 400 L at pH 8.2: what a pulse of 0.02 may be.
double largest_pulse(Bench& bench) {
  bench.run(10min);
  return bench.core.snapshot(bench.now, {}).rise_per_ml
             ? 0.02 / bench.core.snapshot(bench.now, {}).rise_per_ml->count()
             : 0.0;
}

TEST(TestedAlkalinity, sizes_pulses_in_place_of_the_files) {
  Settings settings = Bench::usual();
  settings.water.alkalinity = Dkh{8.0};
  Bench file{settings};
  const double by_file = largest_pulse(file);
  ASSERT_EQ(file.command(sure(alkalinity("6"))).verdict, kAccepted);
  const double by_test = largest_pulse(file);
  EXPECT_LT(by_test, by_file) << "water of less alkalinity rises more";
  Bench none;
  EXPECT_EQ(largest_pulse(none), 0.0) << "nothing is sized by an alkalinity that nobody tested";
  ASSERT_EQ(none.command(sure(alkalinity("6"))).verdict, kAccepted);
  EXPECT_NEAR(largest_pulse(none), by_test, 0.02 * by_test);
}

/// So long after a test of 8 dKH; 0.02 pH in the most sensitive water are 87 mL into 400 L.
double largest_pulse_after(Duration time) {
  Settings settings = Bench::usual();
  settings.water.alkalinity = Dkh{8.0};
  History history;
  history.book = {{1, {100h, WallTime{500000h}}, {WallTime{500000h}, "alkalinity", "8", "dKH"}}};
  Bench bench{settings, history, {Instant{100h} + time, WallTime{500000h} + time}};
  return largest_pulse(bench);
}

TEST(TestedAlkalinity, counts_for_fourteen_days_and_is_then_unknown) {
  constexpr double careful = 0.02 / kPhPerMlPerL * 400.0;
  constexpr Duration days = 24h * 14;
  const double fresh = largest_pulse_after(1h);
  EXPECT_GT(fresh, 1.2 * careful);
  EXPECT_NEAR(largest_pulse_after(days - 11min), fresh, 0.02 * fresh);
  EXPECT_NEAR(largest_pulse_after(days - 9min), careful, 1e-6) << "it ages while ten minutes pass";
  EXPECT_NEAR(largest_pulse_after(24h * 400), careful, 1e-6);
  EXPECT_NEAR(largest_pulse_after(-1h), careful, 1e-6) << "dated later than now";
}

TEST(TestedAlkalinity, that_is_too_old_is_told_once_and_dosing_goes_on) {
  Settings settings = Bench::usual();
  settings.water.alkalinity = Dkh{8.0};
  settings.limits.alkalinity_counts_for = 24h;
  Bench bench{settings};
  ASSERT_EQ(bench.command(alkalinity("8")).verdict, kAccepted);
  bench.run(23h);
  EXPECT_EQ(bench.raised("alkalinity-test-old"), 0U);
  bench.run(26h);
  EXPECT_EQ(bench.raised("alkalinity-test-old"), 1U);
  const std::size_t before = bench.count<AppendPulse>();
  bench.run(4h);
  EXPECT_GT(bench.count<AppendPulse>(), before);
}

// By the clock it is a day old; the machine has run for a month since.
TEST(TestedAlkalinity, does_not_grow_young_by_a_clock_that_was_set_back) {
  Settings settings = Bench::usual();
  settings.water.alkalinity = Dkh{8.0};
  History history;
  history.book = {{1, {100h, WallTime{500000h}}, {WallTime{500000h}, "alkalinity", "8", "dKH"}}};
  Bench bench{settings, history, {Instant{820h}, WallTime{500024h}}};
  EXPECT_NEAR(largest_pulse(bench), 0.02 / kPhPerMlPerL * 400.0, 1e-6);
  bench.now.wall_trusted = false;
  EXPECT_NEAR(largest_pulse(bench), 0.02 / kPhPerMlPerL * 400.0, 1e-6);
}

// A row that another program wrote and this one can't read is shown, and counts for nothing.
TEST(KeepersBook, of_a_row_that_it_does_not_understand_shows_it_and_goes_on) {
  History history;
  history.book = {{4, {}, {WallTime{499000h}, "alkalinity", "8.1", "furlongs"}},
                  {5, {}, {WallTime{499000h}, "moonlight", "3", "lx"}}};
  Bench bench{Bench::usual(), history};
  EXPECT_EQ(newest(bench), 0.0);
  EXPECT_EQ(bench.command(alkalinity("8.1")).verdict, kAccepted);
  EXPECT_EQ(bench.core.book().entries().size(), 3U);
  EXPECT_EQ(newest(bench), 8.1);
}

}  // namespace
}  // namespace limegate::station
