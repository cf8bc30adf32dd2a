// Latches and wishes are kept twice, by two paths: with one sound copy nothing is lost, and with
// none that is a latch itself.

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "journal/scratch.h"

namespace limegate::journal {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using station::SecondCopy;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::UnorderedElementsAre;
using What = station::Wish::What;

class KeptTwice : public Scratch {
 protected:
  void write_rows() {
    Ledger ledger = prepared();
    ASSERT_TRUE(ledger.append("reef", pulse(ledger, 1)));
    ASSERT_TRUE(ledger.latch("reef", "ph-second-ceiling", boot.now.wall));
    const station::Wish pause{What::pause_at_station, {}, 5h, stamp(ledger)};
    const station::Wish nothing{What::volume_from_afar, Millilitres{0.0}, {}, stamp(ledger)};
    ASSERT_TRUE(ledger.keep("reef", pause));
    ASSERT_TRUE(ledger.keep("reef", nothing));
    copy = SecondCopy{1, SecondCopy::Kept{{"ph-second-ceiling"}, {pause, nothing}}};
  }
  static void expect_nothing_lost(const station::History& read) {
    EXPECT_THAT(read.latches, ElementsAre("ph-second-ceiling"));
    ASSERT_EQ(read.wishes.size(), 2U);
    EXPECT_EQ(read.wishes[0].what, What::volume_from_afar);
    EXPECT_EQ(read.wishes[0].volume, Millilitres{0.0});
    EXPECT_EQ(read.wishes[1].what, What::pause_at_station);
    EXPECT_EQ(read.wishes[1].lasting, 5h);
  }
};

TEST_F(KeptTwice, with_both_copies_sound_nothing_is_said) {
  write_rows();
  const Ledger ledger = opened();
  expect_nothing_lost(history(ledger));
  EXPECT_THAT(ledger.notes(), IsEmpty());
  EXPECT_FALSE(full(history(ledger)));
}

TEST_F(KeptTwice, a_lost_ledger_loses_nothing_beside_the_guards_copy) {
  write_rows();
  remove_ledger();
  const Ledger ledger = opened();
  expect_nothing_lost(history(ledger));
  EXPECT_TRUE(full(history(ledger)));
  copy.reset();
  expect_nothing_lost(history(opened()));  // they were written into the new one
}

TEST_F(KeptTwice, a_pause_goes_on_by_its_own_age_in_a_ledger_that_was_begun_anew) {
  write_rows();
  remove_ledger();
  reboot("boot-2");
  const Ledger ledger = opened();
  const station::History read = history(ledger);
  ASSERT_EQ(read.wishes.size(), 2U);
  EXPECT_EQ(dosing::age(read.wishes[1].asked, stamp(ledger)), 0s);
  later(2h);
  EXPECT_EQ(dosing::age(read.wishes[1].asked, stamp(opened())), 2h);
}

TEST_F(KeptTwice, a_lost_guards_record_loses_nothing_and_is_told) {
  write_rows();
  copy.reset();
  const Ledger ledger = opened();
  expect_nothing_lost(history(ledger));
  EXPECT_FALSE(full(history(ledger)));
  EXPECT_THAT(ledger.notes(), ElementsAre(HasSubstr("guard's record is missing or damaged")));
}

TEST_F(KeptTwice, of_a_new_station_there_is_no_guards_record_and_nothing_is_said) {
  copy.reset();
  (void)prepared();
  EXPECT_THAT(opened().notes(), IsEmpty());
}

TEST_F(KeptTwice, with_both_lost_that_is_a_latch_and_a_full_day) {
  write_rows();
  remove_ledger();
  copy.reset();
  const Ledger ledger = opened();
  EXPECT_THAT(history(ledger).latches, ElementsAre("record"));
  EXPECT_TRUE(full(history(ledger)));
  EXPECT_THAT(ledger.notes(), testing::Contains(HasSubstr("must release it: record")));
  later(25h);
  EXPECT_FALSE(full(history(opened()))) << "the volume comes back by itself";
  EXPECT_THAT(history(opened()).latches, ElementsAre("record")) << "the latch does not";
}

TEST_F(KeptTwice, a_guards_record_from_before_it_kept_them_is_no_copy) {
  write_rows();
  remove_ledger();
  copy->kept.reset();
  EXPECT_THAT(history(opened()).latches, ElementsAre("record"));
}

struct Harm {
  const char* name;
  const char* sql;
};
void PrintTo(const Harm& row, std::ostream* out) { *out << row.name; }
class DamagedKept : public KeptTwice, public testing::WithParamInterface<Harm> {};
INSTANTIATE_TEST_SUITE_P(
    , DamagedKept,
    testing::Values(Harm{"code", "UPDATE latches SET code = 'ph-second-ceilinh'"},
                    Harm{"station_of_a_latch", "UPDATE latches SET station = 'reeg'"},
                    Harm{"since", "UPDATE latches SET since_wall_ms = since_wall_ms + 1024"},
                    Harm{"sum_of_a_latch", "UPDATE latches SET checksum = checksum + 1"},
                    Harm{"station_of_a_wish", "UPDATE wishes SET station = 'seef' WHERE what = 3"},
                    Harm{"volume", "UPDATE wishes SET volume_ul = 1048576 WHERE what = 2"},
                    Harm{"lasting", "UPDATE wishes SET lasting_ms = 1 WHERE what = 3"},
                    Harm{"asked", "UPDATE wishes SET asked_lifetime_ms = 99 WHERE what = 3"}),
    [](const auto& row) { return std::string{row.param.name}; });

TEST_P(DamagedKept, is_mended_from_the_guards_copy_and_told) {
  write_rows();
  tamper(GetParam().sql);
  const Ledger ledger = opened();
  expect_nothing_lost(history(ledger));
  EXPECT_FALSE(full(history(ledger))) << "no dose was damaged";
  EXPECT_THAT(ledger.notes(), ElementsAre(HasSubstr("damaged on the disk")));
  EXPECT_THAT(opened().notes(), IsEmpty()) << "found once";
}

TEST_P(DamagedKept, without_a_copy_is_a_latch_and_a_full_day) {
  write_rows();
  tamper(GetParam().sql);
  copy.reset();
  const Ledger ledger = opened();
  EXPECT_THAT(history(ledger).latches, testing::Contains("record"));
  EXPECT_TRUE(full(history(ledger)));
}

TEST_F(KeptTwice, the_latches_are_those_of_both_copies) {
  write_rows();
  copy->kept->latches = {"pump-stuck-on", "something-of-tomorrow"};
  EXPECT_THAT(history(opened()).latches,
              UnorderedElementsAre("ph-second-ceiling", "pump-stuck-on", "something-of-tomorrow"));
}

TEST_F(KeptTwice, of_two_sound_wishes_the_later_counts) {
  write_rows();
  const dosing::Stamp before = copy->kept->wishes[0].asked;
  copy->kept->wishes[0].lasting = 1h;
  EXPECT_EQ(history(opened()).wishes[1].lasting, 5h) << "asked at the same time: the ledger's";
  copy->kept->wishes[0].asked.lifetime = before.lifetime + 1s;
  EXPECT_EQ(history(opened()).wishes[1].lasting, 1h);
  copy->kept->wishes[0].asked = before;
  copy->kept->wishes[0].lasting = 9h;
  EXPECT_EQ(history(opened()).wishes[1].lasting, 1h) << "and it was written down";
}

TEST_F(KeptTwice, an_older_ledger_that_was_put_back_takes_the_latch_from_the_copy) {
  (void)prepared();
  tamper("PRAGMA wal_checkpoint(TRUNCATE)");
  const std::string old = bytes();
  {
    Ledger ledger = opened();
    ASSERT_TRUE(ledger.append("reef", pulse(ledger, 1)));
    ASSERT_TRUE(ledger.latch("reef", "ph-second-ceiling", boot.now.wall));
  }
  remove_ledger();
  put(old);
  copy = SecondCopy{1, SecondCopy::Kept{{"ph-second-ceiling"}, {}}};
  Ledger ledger = opened();
  EXPECT_THAT(history(ledger).latches, ElementsAre("ph-second-ceiling"));
  EXPECT_TRUE(full(history(ledger)));
  EXPECT_EQ(history(ledger).newest_pulse_id, 1) << "no number is used twice";
  ASSERT_TRUE(ledger.release("reef", "ph-second-ceiling"));
  copy->kept->latches.clear();
  EXPECT_THAT(opened().notes(), IsEmpty()) << "found once";
  EXPECT_THAT(history(opened()).latches, IsEmpty());
}

TEST_F(KeptTwice, what_was_learned_and_is_damaged_is_forgotten_and_told) {
  for (const char* sql :
       {"UPDATE usual_course SET mean = mean + 0.5", "UPDATE dose_effect SET share = 0.1",
        "UPDATE dose_anchor SET first_share = 0.1", "UPDATE reference SET ph = 8.9"}) {
    {
      Ledger ledger = prepared();
      ASSERT_TRUE(ledger.keep("reef", station::StoreQuarter{3, {8.2, 9}}));
      ASSERT_TRUE(ledger.keep("reef", station::LearnedEffect{0.75, 3}));
      ASSERT_TRUE(ledger.keep("reef", station::LearnedAnchor{.first_share = 0.75}));
      ASSERT_TRUE(ledger.keep("reef", station::LearnedReference{Ph{8.1}, 0.75, {}}));
    }
    tamper(sql);
    const Ledger ledger = opened();
    EXPECT_THAT(ledger.notes(),
                ElementsAre(testing::AnyOf(HasSubstr("is forgotten, and learned anew"),
                                           HasSubstr("Half of the volume is given until"))));
    const station::History read = history(ledger);
    const int left = (read.usual_course[3].days == 9 ? 1 : 0) + (read.effect.days == 3 ? 1 : 0) +
                     (read.reference.ph ? 1 : 0) + (read.anchor.first_share ? 1 : 0);
    EXPECT_EQ(left, 3) << sql;
    EXPECT_FALSE(full(read));
  }
}

TEST_F(KeptTwice, a_damaged_boot_credits_nothing_and_is_told) {
  (void)prepared();
  tamper("UPDATE boots SET lifetime_before_ms = lifetime_before_ms + 1000000000");
  later(3h);
  const Ledger ledger = opened();
  EXPECT_EQ(stamp(ledger).lifetime, 0s);
  EXPECT_THAT(ledger.notes(), ElementsAre(HasSubstr("boots")));
}

TEST_F(KeptTwice, a_station_whose_row_is_damaged_is_unknown) {
  write_rows();
  tamper("UPDATE stations SET whole_to = 99");
  const Ledger ledger = opened();
  EXPECT_TRUE(full(history(ledger)));
  expect_nothing_lost(history(ledger));
}

}  // namespace
}  // namespace limegate::journal
