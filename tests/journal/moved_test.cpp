// A ledger that is not where it was, or older than what is known of it outside its directory.

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include "files/whole_line.h"
#include "journal/scratch.h"
#include "journal/witness.h"

namespace limegate::journal {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

class Moved : public Scratch {
 protected:
  Moved() { boot.home = {"machine-a", "/var/lib/limegate"}; }

  [[nodiscard]] Ledger opened_beside(const std::optional<Witness>& witness) const {
    auto ledger = Ledger::open(path, {{"reef", copy, witness}}, boot);
    EXPECT_TRUE(ledger) << ledger.error().detail;
    return std::move(*ledger);
  }
  /// A ledger with some pulses, and its witness.
  Witness with_pulses(std::int64_t newest) {
    Ledger ledger = prepared();
    for (std::int64_t id = 1; id <= newest; ++id) {
      later(10min);
      EXPECT_TRUE(ledger.append("reef", pulse(ledger, id, 5.0)));
    }
    copy->newest_sent = newest;
    return *ledger.witness_of("reef");
  }
};

TEST_F(Moved, at_home_and_with_its_witness_nothing_is_said) {
  const Witness witness = with_pulses(3);
  EXPECT_EQ(witness.newest_pulse, 3);
  EXPECT_EQ(witness.home, boot.home);
  EXPECT_THAT(opened_beside(witness).notes(), IsEmpty());
  EXPECT_THAT(opened_beside(std::nullopt).notes(), IsEmpty()) << "it is made anew";
  EXPECT_FALSE(full(history(opened_beside(witness))));
}

TEST_F(Moved, beside_a_witness_that_is_a_pulse_behind_nothing_is_said) {
  const Witness before = with_pulses(3);
  Ledger ledger = opened_beside(before);
  ASSERT_TRUE(ledger.append("reef", pulse(ledger, 4)));
  EXPECT_THAT(opened_beside(before).notes(), IsEmpty());
}

struct Elsewhere {
  const char* name;
  Home home;
  const char* says;
};
void PrintTo(const Elsewhere& row, std::ostream* out) { *out << row.name; }
class MovedTo : public Moved, public testing::WithParamInterface<Elsewhere> {};
INSTANTIATE_TEST_SUITE_P(, MovedTo,
                         testing::Values(Elsewhere{"another_machine",
                                                   {"machine-b", "/var/lib/limegate"},
                                                   "another machine"},
                                         Elsewhere{"another_place",
                                                   {"machine-a", "/srv/limegate"},
                                                   "another place, /var/lib/limegate"}),
                         [](const auto& row) { return std::string{row.param.name}; });

TEST_P(MovedTo, counts_as_full_for_a_day_once_and_says_what_settles_it) {
  const Witness witness = with_pulses(3);
  boot.home = GetParam().home;
  const Ledger ledger = opened_beside(witness);
  EXPECT_TRUE(full(history(ledger)));
  EXPECT_THAT(ledger.notes(),
              ElementsAre(testing::AllOf(HasSubstr(GetParam().says), HasSubstr("--moved-here"))));
  EXPECT_THAT(opened_beside(witness).notes(), IsEmpty()) << "found once";
  EXPECT_TRUE(full(history(opened_beside(witness))));
  later(25h);
  EXPECT_FALSE(full(history(opened_beside(witness)))) << "a day later it goes on by itself";
}

TEST_P(MovedTo, is_settled_by_a_person_before_the_first_start_there) {
  (void)with_pulses(3);
  boot.home = GetParam().home;
  {
    const auto settled = Ledger::moved_here(path, boot);
    ASSERT_TRUE(settled);
    EXPECT_EQ(settled->witness_of("reef")->home, boot.home);
  }
  const Ledger ledger = opened_beside(std::nullopt);
  EXPECT_THAT(ledger.notes(), IsEmpty());
  EXPECT_EQ(sum(history(ledger)), 15.0);
}

TEST_P(MovedTo, is_settled_by_a_person_after_the_first_start_there) {
  const Witness witness = with_pulses(3);
  boot.home = GetParam().home;
  EXPECT_TRUE(full(history(opened_beside(witness))));
  ASSERT_TRUE(Ledger::moved_here(path, boot));
  EXPECT_EQ(sum(history(opened_beside(witness))), 15.0) << "what was truly given counts";
}

TEST_F(Moved, a_person_settles_nothing_that_was_damaged_or_lost) {
  (void)with_pulses(3);
  tamper("UPDATE pulses SET counted_ul = 0 WHERE id = 2");
  EXPECT_TRUE(full(history(opened_beside(std::nullopt))));
  ASSERT_TRUE(Ledger::moved_here(path, boot));
  EXPECT_TRUE(full(history(opened_beside(std::nullopt))));
}

TEST_F(Moved, an_older_ledger_than_the_witness_knows_counts_as_full) {
  (void)with_pulses(3);
  tamper("PRAGMA wal_checkpoint(TRUNCATE)");
  const std::string older = bytes();
  Witness witness;
  {
    Ledger ledger = opened_beside(std::nullopt);
    ASSERT_TRUE(ledger.append("reef", pulse(ledger, 4)));
    ASSERT_TRUE(ledger.latch("reef", "ph-second-ceiling", boot.now.wall));
    witness = *ledger.witness_of("reef");
  }
  remove_ledger();
  put(older);  // and the guard's record with it: it knows no more than this ledger
  const Ledger ledger = opened_beside(witness);
  EXPECT_TRUE(full(history(ledger)));
  EXPECT_THAT(ledger.notes(), ElementsAre(testing::AllOf(HasSubstr("older than what its witness"),
                                                         HasSubstr("--moved-here"))));
  EXPECT_EQ(history(ledger).newest_pulse_id, 4) << "no number is used twice";
  EXPECT_THAT(history(ledger).latches, ElementsAre("ph-second-ceiling"))
      << "which was latched since, in both copies that were put back";
  EXPECT_THAT(opened_beside(ledger.witness_of("reef").value()).notes(), IsEmpty());
}

// Found by a review: a latch holds back pulses, so that the numbers of both agree.
TEST_F(Moved, an_older_ledger_of_the_same_pulses_takes_what_the_witness_knows) {
  (void)with_pulses(3);
  tamper("PRAGMA wal_checkpoint(TRUNCATE)");
  const std::string older = bytes();
  Witness witness;
  {
    Ledger ledger = opened_beside(std::nullopt);
    ASSERT_TRUE(ledger.latch("reef", "alkalinity-too-high", boot.now.wall));
    ASSERT_TRUE(
        ledger.keep("reef", {station::Wish::What::away, Millilitres{200.0}, 240h, stamp(ledger)}));
    witness = *ledger.witness_of("reef");
  }
  remove_ledger();
  put(older);
  const Ledger ledger = opened_beside(*Witness::from_line(witness.to_line()));
  EXPECT_THAT(history(ledger).latches, ElementsAre("alkalinity-too-high"));
  ASSERT_EQ(history(ledger).wishes.size(), 1U);
  EXPECT_EQ(history(ledger).wishes[0].volume, Millilitres{200.0});
  EXPECT_EQ(history(ledger).wishes[0].lasting, 240h);
  EXPECT_FALSE(full(history(ledger))) << "every pulse is known";
  {
    // What is said from here on is newer than both, also where the witness can't be written.
    Ledger again = opened_beside(witness);
    ASSERT_TRUE(again.release("reef", "alkalinity-too-high"));
    EXPECT_THAT(history(opened_beside(witness)).latches, IsEmpty());
    ASSERT_TRUE(again.latch("reef", "alkalinity-too-high", boot.now.wall));
  }
  EXPECT_THAT(ledger.notes(), ElementsAre(HasSubstr("older than what its witness")));
  EXPECT_THAT(opened_beside(ledger.witness_of("reef").value()).notes(), IsEmpty());
}

TEST_F(Moved, a_pause_that_the_witness_alone_knows_goes_on_by_its_own_age) {
  Witness witness;
  {
    Ledger ledger = prepared();
    later(10h);
    ASSERT_TRUE(
        ledger.keep("reef", {station::Wish::What::pause_at_station, {}, 5h, stamp(ledger)}));
    witness = *ledger.witness_of("reef");
  }
  remove_ledger();
  copy.reset();
  reboot("boot-2");
  const Ledger ledger = opened_beside(witness);
  ASSERT_EQ(history(ledger).wishes.size(), 1U);
  EXPECT_EQ(dosing::age(history(ledger).wishes[0].asked, stamp(ledger)), 0s);
  later(2h);
  EXPECT_EQ(dosing::age(history(opened_beside(witness)).wishes[0].asked, stamp(ledger)), 2h);
}

// It could not be written for weeks, or not before the program ended, and a person released what it
// knows of, and went on after a pause. No pulse came since.
TEST_F(Moved, a_witness_that_is_behind_brings_nothing_back) {
  (void)with_pulses(3);
  Ledger ledger = opened_beside(std::nullopt);
  ASSERT_TRUE(ledger.latch("reef", "ph-second-ceiling", boot.now.wall));
  ASSERT_TRUE(ledger.keep("reef", {station::Wish::What::pause_at_station, {}, 5h, stamp(ledger)}));
  const Witness behind = *ledger.witness_of("reef");
  ASSERT_TRUE(ledger.release("reef", "ph-second-ceiling"));
  ASSERT_TRUE(ledger.forget("reef", station::Wish::What::pause_at_station));
  const Ledger again = opened_beside(behind);
  EXPECT_THAT(history(again).latches, IsEmpty());
  EXPECT_THAT(history(again).wishes, IsEmpty());
  EXPECT_THAT(again.notes(), IsEmpty());
}

// Found by a campaign: the witness went back with the first copy, and a second one was believed.
TEST_F(Moved, the_witness_never_goes_back) {
  Witness witness = with_pulses(3);
  const std::int64_t later = 9;
  witness.newest_pulse = later;
  const Witness after = *opened_beside(witness).witness_of("reef");
  EXPECT_EQ(after.newest_pulse, later);
  EXPECT_EQ(after.reserved.lifetime, Duration{}) << "of a pulse that the ledger does not know";
  // Its numbers go on behind it, and then it names the newest again.
  Ledger ledger = opened_beside(after);
  EXPECT_THAT(ledger.notes(), IsEmpty());
  ASSERT_TRUE(ledger.append("reef", pulse(ledger, later + 1)));
  EXPECT_EQ(ledger.witness_of("reef")->newest_pulse, later + 1);
}

TEST_F(Moved, an_older_ledger_without_the_guards_record_is_a_lost_record) {
  Witness witness = with_pulses(3);
  witness.newest_pulse = 9;
  copy.reset();
  const Ledger ledger = opened_beside(witness);
  EXPECT_TRUE(full(history(ledger)));
  EXPECT_THAT(history(ledger).latches, ElementsAre("record"));
}

// A copy and its original both went on, each from the same pulse.
TEST_F(Moved, other_pulses_than_the_witness_knows_count_as_full) {
  Witness witness = with_pulses(3);
  witness.reserved.wall += 1s;
  const Ledger ledger = opened_beside(witness);
  EXPECT_TRUE(full(history(ledger)));
  EXPECT_THAT(ledger.notes(), ElementsAre(HasSubstr("different pulses")));
}

TEST_F(Moved, a_damaged_home_is_told_and_taken_as_here) {
  const Witness witness = with_pulses(3);
  tamper("UPDATE home SET path = '/var/lib/limegatf'");
  const Ledger ledger = opened_beside(witness);
  EXPECT_THAT(ledger.notes(), ElementsAre(HasSubstr("home")));
  EXPECT_FALSE(full(history(ledger)));
}

class NewStation : public Moved {};

TEST_F(NewStation, begins_empty_where_nothing_knows_of_its_water) {
  const auto prepared = Ledger::prepare(path, {"reef"}, boot);
  ASSERT_TRUE(prepared);
  EXPECT_THAT(prepared->notes, IsEmpty());
  EXPECT_FALSE(full(history(opened_beside(std::nullopt))));
}

TEST_F(NewStation, beside_one_that_was_dosed_today_begins_with_a_full_day) {
  (void)with_pulses(3);
  const auto prepared = Ledger::prepare(path, {"reef", "renamed"}, boot);
  ASSERT_TRUE(prepared);
  EXPECT_THAT(prepared->notes, ElementsAre(testing::AllOf(HasSubstr("Another station"),
                                                          HasSubstr("--never-dosed"))));
  EXPECT_TRUE(full(history(opened({"renamed"}), "renamed")));
  EXPECT_FALSE(full(history(opened({"renamed"}), "reef")));
}

TEST_F(NewStation, beside_one_that_was_dosed_a_day_ago_begins_empty) {
  (void)with_pulses(3);
  later(24h + 48s);
  EXPECT_THAT(Ledger::prepare(path, {"reef", "nano"}, boot)->notes, IsEmpty());
}

TEST_F(NewStation, whose_water_a_person_says_was_never_dosed_begins_empty) {
  (void)with_pulses(3);
  const auto prepared =
      Ledger::prepare(path, {"reef", "nano"}, boot, Water::never_dosed, "A witness knows.");
  ASSERT_TRUE(prepared);
  EXPECT_THAT(prepared->notes, IsEmpty());
  copy->newest_sent = 0;
  EXPECT_FALSE(full(history(opened({"nano"}), "nano")));
}

TEST_F(NewStation, of_which_a_witness_knows_begins_with_a_full_day) {
  const auto prepared = Ledger::prepare(path, {"reef"}, boot, Water::unknown, "A witness knows.");
  ASSERT_TRUE(prepared);
  EXPECT_THAT(prepared->notes, ElementsAre(HasSubstr("A witness knows.")));
  EXPECT_TRUE(full(history(opened_beside(std::nullopt))));
}

Witness some_witness() {
  return {{"0123456789abcdef", "/var/lib/a path with spaces"},
          "boot-1",
          42,
          {7h, WallTime{9h}},
          {"ph-second-ceiling", "pump-stuck-on"},
          {{station::Wish::What::away, Millilitres{200.5}, 240h, {5h, WallTime{8h}}}},
          17};
}

RC_GTEST_PROP(WitnessLine, reads_back_as_it_was_made, ()) {
  Witness witness = some_witness();
  witness.newest_pulse = *rc::gen::arbitrary<std::int64_t>();
  witness.reserved = {std::chrono::milliseconds{*rc::gen::arbitrary<std::int32_t>()},
                      WallTime{std::chrono::milliseconds{*rc::gen::arbitrary<std::int32_t>()}}};
  const auto read = Witness::from_line(witness.to_line());
  RC_ASSERT(read.has_value());
  RC_ASSERT(read->newest_pulse == witness.newest_pulse);
  RC_ASSERT((read->reserved == witness.reserved));
  RC_ASSERT((read->home == witness.home));
  RC_ASSERT(read->latches == witness.latches);
  RC_ASSERT(read->changes == witness.changes);
  RC_ASSERT(read->wishes.size() == witness.wishes.size());
  RC_ASSERT(read->wishes[0].what == witness.wishes[0].what);
  RC_ASSERT(read->wishes[0].volume == witness.wishes[0].volume);
  RC_ASSERT(read->wishes[0].lasting == witness.wishes[0].lasting);
  RC_ASSERT((read->wishes[0].asked == witness.wishes[0].asked));
}

TEST(WitnessLine, of_the_version_before_is_read_without_wishes) {
  const std::string line = files::with_sum(
      "limegate-witness-1 42 25200000 32400000 boot-1 1 pump-stuck-on machine-a /var/lib/l g");
  const auto read = Witness::from_line(line);
  ASSERT_TRUE(read);
  EXPECT_EQ(read->newest_pulse, 42);
  EXPECT_THAT(read->latches, ElementsAre("pump-stuck-on"));
  EXPECT_THAT(read->wishes, IsEmpty());
  EXPECT_EQ(read->home.path, "/var/lib/l g");
}

TEST(WitnessLine, with_any_changed_or_missing_character_is_refused) {
  const std::string line = some_witness().to_line();
  for (std::size_t i = 0; i < line.size(); ++i) {
    std::string changed = line;
    changed[i] = static_cast<char>(changed[i] ^ (1 << i % 8));
    EXPECT_FALSE(Witness::from_line(changed)) << "byte " << i;
    EXPECT_FALSE(Witness::from_line(line.substr(0, i)));
  }
}

}  // namespace
}  // namespace limegate::journal
