// The ledger on real files: what is written comes back, whatever happens in between.

#include "journal/ledger.h"

#include <gtest/gtest.h>

#include "journal/ledger_schema.h"
#include "journal/scratch.h"

namespace limegate::journal {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using station::Fate;

class LedgerTest : public Scratch {};

TEST_F(LedgerTest, prepare_creates_and_adds_only_what_is_new) {
  using Names = std::vector<std::string>;
  EXPECT_EQ(Ledger::prepare(path, {"reef"}, boot)->added, Names{"reef"});
  EXPECT_EQ(Ledger::prepare(path, {"reef", "nano"}, boot)->added, Names{"nano"});
  EXPECT_EQ(Ledger::prepare(path, {"reef", "nano"}, boot)->added, Names{});
  Ledger ledger = opened();
  ASSERT_TRUE(ledger.append("reef", pulse(ledger, 1)));
  EXPECT_EQ(Ledger::prepare(path, {"reef", "nano"}, boot)->added, Names{});
  EXPECT_TRUE(opened({"reef", "nano"}).notes().empty());
  EXPECT_EQ(history(opened()).doses.size(), 1U) << "rows that are there stay";
}

TEST_F(LedgerTest, a_prepared_station_has_given_nothing) {
  const station::History fresh = history(prepared());
  EXPECT_TRUE(fresh.doses.empty());
  EXPECT_EQ(fresh.newest_pulse_id, 0);
  EXPECT_EQ(fresh.newest_stir_id, 0);
  EXPECT_FALSE(fresh.last_stir);
  EXPECT_TRUE(fresh.latches.empty());
}

TEST_F(LedgerTest, an_open_pulse_counts_in_full_and_its_end_is_kept) {
  Ledger ledger = prepared();
  const station::PulseRecord written = pulse(ledger, 1);
  ASSERT_TRUE(ledger.append("reef", written));
  const station::History read = history(opened());
  ASSERT_EQ(read.doses.size(), 1U);
  EXPECT_EQ(read.newest_pulse_id, 1);
  EXPECT_FALSE(read.newest_given) << "it may not have been given";
  EXPECT_EQ(read.doses.front().id, 1);
  EXPECT_EQ(read.doses.front().volume.count(), 30.0);
  EXPECT_EQ(read.doses.front().end.lifetime, written.end.lifetime);
  EXPECT_EQ(read.doses.front().end.wall, written.end.wall);
}

TEST_F(LedgerTest, a_closed_pulse_counts_what_it_was_closed_with) {
  Ledger ledger = prepared();
  for (const std::int64_t id : {1, 2, 3}) {
    ASSERT_TRUE(ledger.append("reef", pulse(ledger, id)));
  }
  ASSERT_TRUE(ledger.close_pulse("reef", 1, Fate::given, Millilitres{30.0}));
  ASSERT_TRUE(ledger.close_pulse("reef", 2, Fate::cut_short, Millilitres{12.5}));
  ASSERT_TRUE(ledger.close_pulse("reef", 3, Fate::not_given, Millilitres{0.0}));
  EXPECT_EQ(sum(history(opened())), 42.5);
  EXPECT_EQ(number("SELECT fate FROM pulses WHERE id = 2"), 2);
  EXPECT_EQ(number("SELECT volume_ul FROM pulses WHERE id = 2"), 30000) << "what was meant stays";
}

// Silence is counted from it, over restarts and however long ago it was.
TEST_F(LedgerTest, the_newest_pulse_that_was_given_is_known_for_good) {
  Ledger ledger = prepared();
  EXPECT_FALSE(history(ledger).newest_given);
  const station::PulseRecord given = pulse(ledger, 1);
  ASSERT_TRUE(ledger.append("reef", given));
  ASSERT_TRUE(ledger.close_pulse("reef", 1, Fate::cut_short, Millilitres{1.0}));
  later(1h);
  ASSERT_TRUE(ledger.append("reef", pulse(ledger, 2)));
  ASSERT_TRUE(ledger.close_pulse("reef", 2, Fate::not_given, Millilitres{0.0}));
  ASSERT_TRUE(ledger.presume_full("reef", "A test.", boot.now));
  later(24h * 30);
  ASSERT_TRUE(history(opened()).newest_given);
  EXPECT_EQ(history(opened()).newest_given->lifetime, given.end.lifetime);
}

TEST_F(LedgerTest, a_pulse_that_is_not_there_cannot_be_closed) {
  Ledger ledger = prepared();
  const auto closed = ledger.close_pulse("reef", 5, Fate::given, Millilitres{1.0});
  ASSERT_FALSE(closed);
  EXPECT_EQ(closed.error().fault, StorageFault::damaged);
  EXPECT_FALSE(ledger.close_stir("reef", 5, stamp(ledger)));
}

TEST_F(LedgerTest, volumes_are_rounded_up_to_the_microlitre) {
  Ledger ledger = prepared();
  ASSERT_TRUE(ledger.append("reef", pulse(ledger, 1, 26.6661)));  // 26666.1 uL
  EXPECT_EQ(number("SELECT counted_ul FROM pulses"), 26667);
  ASSERT_TRUE(ledger.close_pulse("reef", 1, Fate::cut_short, Millilitres{0.0001}));
  EXPECT_EQ(number("SELECT counted_ul FROM pulses"), 1);
  ASSERT_TRUE(ledger.close_pulse("reef", 1, Fate::cut_short, Millilitres{26.666}));
  EXPECT_EQ(number("SELECT counted_ul FROM pulses"), 26666) << "a whole one is not raised";
}

TEST_F(LedgerTest, doses_leave_after_a_day_and_their_ids_stay) {
  Ledger ledger = prepared();
  ASSERT_TRUE(ledger.append("reef", pulse(ledger, 9)));
  later(24h + 48s - 1ms);
  EXPECT_EQ(history(ledger).doses.size(), 1U);
  later(1ms);
  EXPECT_EQ(history(ledger).doses.size(), 0U);
  EXPECT_EQ(history(ledger).newest_pulse_id, 9);
}

TEST_F(LedgerTest, stations_are_kept_apart) {
  ASSERT_TRUE(Ledger::prepare(path, {"reef", "nano"}, boot));
  Ledger ledger = opened({"reef", "nano"});
  ASSERT_TRUE(ledger.append("reef", pulse(ledger, 1)));
  ASSERT_TRUE(ledger.append("nano", pulse(ledger, 5, 3.0)));
  ASSERT_TRUE(ledger.latch("nano", "pump-stuck-on", boot.now.wall));
  EXPECT_EQ(sum(history(ledger, "reef")), 30.0);
  EXPECT_EQ(sum(history(ledger, "nano")), 3.0);
  EXPECT_EQ(history(ledger, "reef").newest_pulse_id, 1);
  EXPECT_TRUE(history(ledger, "reef").latches.empty());
}

TEST_F(LedgerTest, a_closed_stir_of_this_boot_is_the_last_stir) {
  Ledger ledger = prepared();
  const Instant start = later().mono;
  ASSERT_TRUE(ledger.append("reef", station::StirRecord{4, 15min, stamp(ledger)}));
  later(15min);
  ASSERT_TRUE(ledger.close_stir("reef", 4, stamp(ledger)));
  const station::History read = history(opened());
  EXPECT_EQ(read.newest_stir_id, 4);
  ASSERT_TRUE(read.last_stir);
  EXPECT_EQ(read.last_stir->start, start);
  EXPECT_EQ(read.last_stir->end, start + 15min + 1ms) << "rather late than early";
}

TEST_F(LedgerTest, a_stir_ends_never_earlier_than_it_did) {
  Ledger ledger = prepared();
  ASSERT_TRUE(ledger.append("reef", station::StirRecord{4, 15min, stamp(ledger)}));
  const Instant ended = later(15min + 999999ns).mono;
  ASSERT_TRUE(ledger.close_stir("reef", 4, stamp(ledger)));
  EXPECT_GE(history(opened()).last_stir->end, ended);
}

TEST_F(LedgerTest, an_open_stir_is_unknown) {
  Ledger ledger = prepared();
  ASSERT_TRUE(ledger.append("reef", station::StirRecord{4, 15min, stamp(ledger)}));
  EXPECT_FALSE(history(opened()).last_stir);
  EXPECT_EQ(history(opened()).newest_stir_id, 4);
}

TEST_F(LedgerTest, a_stir_of_another_boot_is_unknown) {
  {
    Ledger ledger = prepared();
    ASSERT_TRUE(ledger.append("reef", station::StirRecord{4, 15min, stamp(ledger)}));
    ASSERT_TRUE(ledger.close_stir("reef", 4, stamp(ledger)));
  }
  reboot("boot-2");
  EXPECT_FALSE(history(opened()).last_stir);
}

TEST_F(LedgerTest, the_newest_stir_decides_even_when_an_older_one_was_closed) {
  Ledger ledger = prepared();
  ASSERT_TRUE(ledger.append("reef", station::StirRecord{4, 15min, stamp(ledger)}));
  ASSERT_TRUE(ledger.close_stir("reef", 4, stamp(ledger)));
  ASSERT_TRUE(ledger.append("reef", station::StirRecord{5, 15min, stamp(ledger)}));
  EXPECT_FALSE(history(ledger).last_stir);
}

TEST_F(LedgerTest, latches_stay_over_boots_until_released) {
  {
    Ledger ledger = prepared();
    ASSERT_TRUE(ledger.latch("reef", "pump-stuck-on", boot.now.wall));
    ASSERT_TRUE(ledger.latch("reef", "pump-stuck-on", boot.now.wall));
    ASSERT_TRUE(ledger.latch("reef", "ph-second-ceiling", boot.now.wall));
  }
  reboot("boot-2");
  Ledger ledger = opened();
  EXPECT_EQ(history(ledger).latches.size(), 2U);
  ASSERT_TRUE(ledger.release("reef", "pump-stuck-on"));
  ASSERT_TRUE(ledger.release("reef", "never-latched"));
  EXPECT_EQ(history(ledger).latches, (std::vector<std::string>{"ph-second-ceiling"}));
}

TEST_F(LedgerTest, presume_full_fills_the_day_and_uses_up_no_number_of_a_pulse) {
  Ledger ledger = prepared();
  ASSERT_TRUE(ledger.append("reef", pulse(ledger, 3)));
  ASSERT_TRUE(ledger.presume_full("reef", "It was restored from a copy.", boot.now));
  EXPECT_TRUE(full(history(ledger)));
  EXPECT_EQ(history(ledger).newest_pulse_id, 3);
  ASSERT_EQ(ledger.notes().size(), 1U);
  EXPECT_NE(ledger.notes().front().find("restored from a copy"), std::string::npos);
  later(24h - 1s);
  EXPECT_TRUE(full(history(ledger)));
  later(2s);
  EXPECT_FALSE(full(history(ledger)));
}

TEST_F(LedgerTest, proves_that_it_can_be_written) { EXPECT_TRUE(prepared().prove_writable()); }

TEST_F(LedgerTest, lifetime_begins_with_the_first_opening) {
  EXPECT_EQ(stamp(prepared()).lifetime, 0s) << "50 h of uptime that it has not seen";
  later(5h);
  EXPECT_EQ(stamp(opened()).lifetime, 5h);
}

TEST_F(LedgerTest, lifetime_goes_on_from_the_newest_row_of_earlier_boots) {
  {
    Ledger ledger = prepared();
    later(5h);
    ASSERT_TRUE(ledger.append("reef", pulse(ledger, 1)));
    later(7h);  // nothing witnesses these
  }
  reboot("boot-2", 1000h);
  EXPECT_EQ(stamp(opened()).lifetime, 5h) << "no credit for the time between";
  EXPECT_EQ(sum(history(opened())), 30.0) << "the wall clock alone frees nothing";
  later(1h);
  EXPECT_EQ(stamp(opened()).lifetime, 6h) << "the same boot again";
}

TEST_F(LedgerTest, a_machine_that_is_up_for_long_frees_nothing_of_a_ledger_it_has_not_seen) {
  {
    Ledger ledger = prepared();
    ASSERT_TRUE(ledger.append("reef", pulse(ledger, 1)));
  }
  boot.id = "of another machine";
  boot.now.mono = Instant{24h * 30};
  boot.now.wall += 24h * 30;
  EXPECT_EQ(sum(history(opened())), 30.0);
  later(24h);
  EXPECT_EQ(sum(history(opened())), 30.0) << "it ends 48 s after it was written";
  later(48s);
  EXPECT_EQ(sum(history(opened())), 0.0);
}

// Moments of this boot stay true for what the core counts from them.
TEST_F(LedgerTest, a_long_uptime_before_the_first_opening_moves_no_stir_of_this_boot) {
  Ledger ledger = prepared();
  const Instant start = boot.now.mono;
  ASSERT_TRUE(ledger.append("reef", station::StirRecord{1, 15min, stamp(ledger)}));
  const Instant end = later(15min).mono;
  ASSERT_TRUE(ledger.close_stir("reef", 1, stamp(ledger)));
  const auto read = history(opened());
  ASSERT_TRUE(read.last_stir);
  EXPECT_EQ(read.last_stir->start, start);
  EXPECT_EQ(read.last_stir->end, end + 1ms);
  EXPECT_EQ(read.lifetime_before_boot, -50h);
}

TEST_F(LedgerTest, a_boot_without_rows_gives_no_credit_either) {
  {
    Ledger ledger = prepared();
    later(3h);
    ASSERT_TRUE(ledger.append("reef", pulse(ledger, 1)));
  }
  for (const char* id : {"boot-2", "boot-3", "boot-4"}) {
    reboot(id, 100h);
    EXPECT_EQ(stamp(opened()).lifetime, 3h);
    later(20h);
  }
  EXPECT_EQ(sum(history(opened())), 30.0) << "20 h in this boot are not a day";
}

TEST_F(LedgerTest, stirs_witness_uptime_too) {
  {
    Ledger ledger = prepared();
    later(2h);
    ASSERT_TRUE(ledger.append("reef", station::StirRecord{1, 15min, stamp(ledger)}));
    later(15min);
    ASSERT_TRUE(ledger.close_stir("reef", 1, stamp(ledger)));
  }
  reboot("boot-2");
  EXPECT_EQ(stamp(opened()).lifetime, 2h + 15min + 1ms);
}

TEST_F(LedgerTest, a_dose_is_never_older_than_the_uptime_that_was_seen) {
  {
    Ledger ledger = prepared();
    ASSERT_TRUE(ledger.append("reef", pulse(ledger, 1)));
  }
  reboot("boot-2", 23h);
  (void)opened();
  later(23h + 59min);
  EXPECT_EQ(sum(history(opened())), 30.0);
  later(2min);
  EXPECT_EQ(sum(history(opened())), 0.0);
}

TEST_F(LedgerTest, wishes_come_back_and_the_newer_replaces_the_older) {
  using What = station::Wish::What;
  Ledger ledger = prepared();
  const dosing::Stamp asked = stamp(ledger);
  ASSERT_TRUE(ledger.keep("reef", {What::volume_from_afar, Millilitres{250.5}, {}, asked}));
  ASSERT_TRUE(ledger.keep("reef", {What::pause_at_station, {}, 90min, asked}));
  ASSERT_TRUE(ledger.keep("reef", {What::pause_at_station, {}, 30min, asked}));
  ASSERT_TRUE(ledger.keep("reef", {What::pause_from_afar, {}, 10min, asked}));
  ASSERT_TRUE(ledger.forget("reef", What::pause_from_afar));
  const auto wishes = history(opened()).wishes;
  ASSERT_EQ(wishes.size(), 2U);
  EXPECT_EQ(wishes[0].what, What::volume_from_afar);
  EXPECT_EQ(wishes[0].volume.count(), 250.5);
  EXPECT_EQ(wishes[1].what, What::pause_at_station);
  EXPECT_EQ(wishes[1].lasting, 30min);
  EXPECT_EQ(wishes[1].asked.lifetime, asked.lifetime);
  EXPECT_EQ(wishes[1].asked.wall, asked.wall);
}

TEST_F(LedgerTest, of_the_first_version_is_taken_on_as_it_is) {
  {
    Ledger ledger = prepared();
    ASSERT_TRUE(ledger.append("reef", pulse(ledger, 7)));
  }
  tamper(back_to_schema(1));
  auto old = Database::open(path, Creating::no, Sync::full);
  ASSERT_TRUE(old);
  ASSERT_TRUE(
      old->execute("DROP TABLE wishes; DROP TABLE usual_course; DROP TABLE dose_effect; "
                   "DROP TABLE reference; DROP TABLE latches; DROP TABLE stations; DROP TABLE "
                   "boots; "
                   "CREATE TABLE stations(name TEXT PRIMARY KEY, added_wall_ms INTEGER) WITHOUT "
                   "ROWID; "
                   "CREATE TABLE boots(id TEXT PRIMARY KEY, lifetime_before_ms INTEGER) WITHOUT "
                   "ROWID; "
                   "CREATE TABLE latches(station TEXT, code TEXT, since_wall_ms INTEGER, "
                   "PRIMARY KEY(station, code)) WITHOUT ROWID; "
                   "INSERT INTO stations VALUES('reef', 1); "
                   "INSERT INTO latches VALUES('reef', 'ph-second-ceiling', 1)"));
  const Ledger ledger = opened();
  EXPECT_TRUE(ledger.notes().empty());
  EXPECT_EQ(history(ledger).newest_pulse_id, 7);
  EXPECT_TRUE(history(ledger).wishes.empty());
  EXPECT_EQ(history(ledger).latches, (std::vector<std::string>{"ph-second-ceiling"}));
  EXPECT_EQ(number("PRAGMA user_version"), kSchema) << "an older program refuses it from now on";
}

TEST_F(LedgerTest, the_usual_course_is_kept_quarter_by_quarter) {
  {
    Ledger ledger = prepared();
    ASSERT_TRUE(ledger.keep("reef", station::StoreQuarter{0, {8.125, 3}}));
    ASSERT_TRUE(ledger.keep("reef", station::StoreQuarter{95, {8.25, 14}}));
    ASSERT_TRUE(ledger.keep("reef", station::StoreQuarter{0, {8.0625, 4}}));
    ASSERT_TRUE(ledger.keep("frag", station::StoreQuarter{1, {7.9, 1}}));
    // What no version of ours wrote is left out.
    ASSERT_TRUE(ledger.keep("reef", station::StoreQuarter{96, {8.2, 1}}));
    ASSERT_TRUE(ledger.keep("reef", station::StoreQuarter{-1, {8.2, 1}}));
  }
  signal::DayCourse::Quarters expected{};
  expected[0] = {8.0625, 4};
  expected[95] = {8.25, 14};
  EXPECT_EQ(history(opened()).usual_course, expected);
  Ledger ledger = opened();
  ASSERT_TRUE(ledger.write("reef", station::ForgetCourse{}, WallTime{}));
  EXPECT_EQ(history(ledger).usual_course, signal::DayCourse::Quarters{});
  EXPECT_EQ(ledger.history("frag", boot)->usual_course[1], (signal::DayCourse::Quarter{7.9, 1}));
}

TEST_F(LedgerTest, the_learned_effect_of_doses_is_kept) {
  {
    Ledger ledger = prepared();
    EXPECT_EQ(history(ledger).effect, station::LearnedEffect{});
    ASSERT_TRUE(ledger.write("reef", station::StoreEffect{{0.75, 3}}, WallTime{}));
    ASSERT_TRUE(ledger.write("reef", station::StoreEffect{{0.875, 4}}, WallTime{}));
    ASSERT_TRUE(ledger.write("frag", station::StoreEffect{{2.0, 1}}, WallTime{}));
  }
  EXPECT_EQ(history(opened()).effect, (station::LearnedEffect{0.875, 4}));
}

TEST_F(LedgerTest, what_a_days_cycles_did_is_kept_for_a_day) {
  {
    Ledger ledger = prepared();
    for (int hour = 0; hour <= 30; hour += 2) {
      ASSERT_TRUE(ledger.write(
          "reef", station::StoreCycle{{hour * 1h, 0.5 + hour, 0.25, 8.25, 0.125, hour == 28}},
          WallTime{}));
    }
    ASSERT_TRUE(ledger.keep("frag", station::DoseCycle{1h, 0.5, 0.5, 8.0, 0.0, false}));
  }
  const auto cycles = history(opened()).dose_cycles;
  ASSERT_EQ(cycles.size(), 13U) << "from six to thirty hours";
  EXPECT_EQ(cycles.front().at, 6h);
  EXPECT_EQ(cycles.back().at, 30h);
  EXPECT_EQ(cycles.back().seen, 30.5);
  EXPECT_EQ(cycles.back().expected, 0.25);
  EXPECT_EQ(cycles.back().value_then, 8.25);
  EXPECT_EQ(cycles.back().expected_then, 0.125);
  EXPECT_TRUE(cycles[11].taught);
  EXPECT_FALSE(cycles[12].taught);
  ASSERT_TRUE(opened().write("reef", station::ForgetCycles{}, WallTime{}));
  EXPECT_TRUE(history(opened()).dose_cycles.empty());
  EXPECT_EQ(opened().history("frag", boot)->dose_cycles.size(), 1U);
}

TEST_F(LedgerTest, what_was_held_against_chemistry_is_kept) {
  const station::LearnedAnchor anchor{0.75, MillilitresPerMinute{50.0}, MillilitresPerMinute{40.0},
                                      MillilitresPerMinute{60.0}, true};
  {
    Ledger ledger = prepared();
    EXPECT_EQ(history(ledger).anchor, station::LearnedAnchor{});
    ASSERT_TRUE(ledger.write("reef", station::StoreAnchor{anchor}, WallTime{}));
    ASSERT_TRUE(ledger.write("frag", station::StoreAnchor{{}}, WallTime{}));
  }
  EXPECT_EQ(history(opened()).anchor, anchor);
  EXPECT_EQ(opened().history("frag", boot)->anchor, station::LearnedAnchor{});
}

TEST_F(LedgerTest, of_the_version_before_the_anchor_is_taken_on_as_it_is) {
  {
    Ledger ledger = prepared();
    ASSERT_TRUE(ledger.append("reef", pulse(ledger, 1)));
  }
  tamper(back_to_schema(6));
  const Ledger ledger = opened();
  EXPECT_TRUE(ledger.notes().empty()) << ledger.notes().front();
  EXPECT_EQ(history(ledger).newest_pulse_id, 1);
  EXPECT_EQ(history(ledger).anchor, station::LearnedAnchor{});
  EXPECT_EQ(number("PRAGMA user_version"), kSchema);
}

TEST_F(LedgerTest, the_reference_and_the_eased_volume_are_kept) {
  const dosing::Stamp changed{40h, WallTime{500h}};
  {
    Ledger ledger = prepared();
    EXPECT_EQ(history(ledger).reference, station::LearnedReference{});
    ASSERT_TRUE(ledger.write("reef", station::StoreReference{{Ph{8.0625}, 1.0, {}}}, WallTime{}));
    ASSERT_TRUE(
        ledger.write("reef", station::StoreReference{{Ph{8.0625}, 0.75, changed}}, WallTime{}));
    ASSERT_TRUE(
        ledger.write("frag", station::StoreReference{{std::nullopt, 0.5, changed}}, WallTime{}));
  }
  EXPECT_EQ(history(opened()).reference, (station::LearnedReference{Ph{8.0625}, 0.75, changed}));
  EXPECT_EQ(opened().history("frag", boot)->reference,
            (station::LearnedReference{std::nullopt, 0.5, changed}));
}

}  // namespace
}  // namespace limegate::journal
