// What a station knows, against what can happen to it: one word for each, and never silently fresh.
//   kept      as it was
//   full      counted as the most that may have been given in 24 h
//   unknown   learned anew, or settled anew: held as far as it guards anything
//   halved    at most half of the day's volume, until it was seen again
//   latched   a person must look before anything is dosed
//   gone      the used slot of a window: the settling that begins anew ends that window
// The last column says whether a person is told. Proof of five good minutes is never kept. What the
// disk does to a running daemon (full, slow) is tested on real parts, in tests/app.

#include <algorithm>
#include <filesystem>
#include <functional>

#include <gtest/gtest.h>

#include "journal/scratch.h"

namespace limegate::journal {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using What = station::Wish::What;

constexpr const char* kFacts =
    "doses slots stirs latches wishes volumes course effect anchor reference note told";

class Lives : public Scratch {
 public:
  /// Said while no daemon ran. A copy can't say for which of a hold's latches it was.
  static constexpr const char* kNote = "noted-release-ph-second-ceiling";
  using Scratch::boot;
  using Scratch::copy;
  using Scratch::path;
  using Scratch::reboot;
  using Scratch::remove_ledger;
  using Scratch::tamper;

  Lives() { boot.home = {"machine-a", "/var/lib/limegate"}; }

  /// Everything that a ledger can know, and its second copy and witness.
  void know() {
    {
      Ledger ledger = prepared();
      ASSERT_TRUE(ledger.append("reef", station::StirRecord{1, 15min, stamp(ledger)}));
      later(15min);
      ASSERT_TRUE(ledger.close_stir("reef", 1, stamp(ledger)));
      for (std::int64_t id = 1; id <= 3; ++id) {
        later(30min);
        ASSERT_TRUE(ledger.append("reef", pulse(ledger, id)));
        ASSERT_TRUE(ledger.close_pulse("reef", id, station::Fate::given, Millilitres{30.0}));
      }
      const station::Wish pause{What::pause_at_station, {}, 5h, stamp(ledger)};
      ASSERT_TRUE(ledger.latch("reef", "ph-second-ceiling", boot.now.wall));
      ASSERT_TRUE(ledger.latch("reef", kNote, boot.now.wall));
      ASSERT_TRUE(ledger.keep("reef", pause));
      ASSERT_TRUE(ledger.keep("reef", dosing::VolumeInForce{stamp(ledger), Millilitres{900.0}}));
      ASSERT_TRUE(ledger.keep("reef", station::StoreQuarter{3, {8.2, 9}}));
      ASSERT_TRUE(ledger.keep("reef", station::LearnedEffect{0.75, 9}));
      ASSERT_TRUE(ledger.keep(
          "reef", station::LearnedAnchor{.first_share = 0.8, .beyond_chemistry = true}));
      ASSERT_TRUE(ledger.keep("reef", station::LearnedReference{Ph{8.1}, 0.75, stamp(ledger)}));
      copy =
          station::SecondCopy{3, station::SecondCopy::Kept{{"ph-second-ceiling", kNote}, {pause}}};
      witness = *ledger.witness_of("reef");
    }
    later(10min);
  }
  void put_back_older() {
    tamper("PRAGMA wal_checkpoint(TRUNCATE)");
    const std::string older = bytes();
    {
      Ledger ledger = opened();
      ASSERT_TRUE(ledger.append("reef", pulse(ledger, 4)));
      witness = *ledger.witness_of("reef");
    }
    remove_ledger();
    put(older);
  }
  [[nodiscard]] std::string words() const {
    auto ledger = Ledger::open(path, {{"reef", copy, witness}}, boot);
    if (!ledger) {
      return ledger.error().detail;
    }
    const station::History read = history(*ledger);
    const auto learned = [](bool kept) { return kept ? " kept" : " unknown"; };
    std::string words = full(read) ? "full" : sum(read) >= 90.0 ? "kept" : "LOST";
    words += read.newest_reserved ? " kept" : " gone";
    words += learned(read.dosed_since_stir.has_value() && read.last_stir &&
                     read.last_stir->end < boot.now.mono);
    const auto latched = [&](const char* code) {
      return std::find(read.latches.begin(), read.latches.end(), code) != read.latches.end();
    };
    words += latched("ph-second-ceiling") ? " kept" : latched("record") ? " latched" : " LOST";
    words += !read.wishes.empty() ? " kept" : latched("record") ? " latched" : " LOST";
    words += learned(!read.volumes.empty());
    words += learned(read.usual_course[3].days == 9);
    words += learned(read.effect.days == 9);
    words += read.anchor.first_share        ? " kept"
             : read.anchor.beyond_chemistry ? " halved"
                                            : " unknown";
    words += learned(read.reference.share == 0.75);
    words += latched(kNote) ? " kept" : " gone";
    words += ledger->notes().empty() ? " no" : " told";
    return words;
  }

  std::optional<Witness> witness;
};

struct Life {
  const char* name;
  std::function<void(Lives&)> happens;
  const char* words;  ///< in the order of kFacts
};
void PrintTo(const Life& life, std::ostream* out) { *out << life.name; }

const Life kLives[] = {
    // The daemon ends, in whatever way: each row was synced before anything followed from it.
    {"crash", [](Lives&) {}, "kept kept kept kept kept kept kept kept kept kept kept no"},
    {"power_cut_at_once",
     [](Lives& life) {
       std::filesystem::remove(life.path + "-shm");
       life.reboot("boot-2", 0s);
     },
     "kept kept unknown kept kept kept kept kept kept kept kept no"},
    {"reboot", [](Lives& life) { life.reboot("boot-2"); },
     "kept kept unknown kept kept kept kept kept kept kept kept no"},
    {"reboot_with_the_clock_unset",
     [](Lives& life) {
       life.reboot("boot-2");
       life.boot.now.wall = WallTime{};
     },
     "kept kept unknown kept kept kept kept kept kept kept kept no"},
    {"clock_set_back_by_ten_years", [](Lives& life) { life.boot.now.wall -= 87600h; },
     "kept kept kept kept kept kept kept kept kept kept kept no"},
    {"clock_set_on_by_ten_years", [](Lives& life) { life.boot.now.wall += 87600h; },
     "kept kept kept kept kept kept kept kept kept kept kept no"},
    {"ledger_lost", [](Lives& life) { life.remove_ledger(); },
     "full gone unknown kept kept unknown unknown unknown unknown unknown gone told"},
    {"ledger_lost_and_rebooted",
     [](Lives& life) {
       life.remove_ledger();
       life.reboot("boot-2");
     },
     "full gone unknown kept kept unknown unknown unknown unknown unknown gone told"},
    {"guards_record_lost", [](Lives& life) { life.copy.reset(); },
     "kept kept kept kept kept kept kept kept kept kept kept told"},
    {"witness_lost", [](Lives& life) { life.witness.reset(); },
     "kept kept kept kept kept kept kept kept kept kept kept no"},
    {"ledger_and_guards_record_lost",
     [](Lives& life) {
       life.remove_ledger();
       life.copy.reset();
     },
     "full gone unknown kept kept unknown unknown unknown unknown unknown gone told"},
    {"all_lost_but_the_file",
     [](Lives& life) {
       life.remove_ledger();
       life.copy.reset();
       life.witness.reset();
     },
     "full gone unknown latched latched unknown unknown unknown unknown unknown gone told"},
    {"a_pulse_damaged",
     [](Lives& life) { life.tamper("UPDATE pulses SET counted_ul = 0 WHERE id = 2"); },
     "full kept kept kept kept kept kept kept kept kept gone told"},
    {"a_pulse_gone", [](Lives& life) { life.tamper("DELETE FROM pulses WHERE id = 2"); },
     "full kept kept kept kept kept kept kept kept kept gone told"},
    {"the_stir_damaged", [](Lives& life) { life.tamper("UPDATE stirs SET end_lifetime_ms = 0"); },
     "full kept unknown kept kept kept kept kept kept kept gone told"},
    {"the_latch_damaged",
     [](Lives& life) {
       life.tamper("UPDATE latches SET code = 'x' WHERE code = 'ph-second-ceiling'");
     },
     "kept kept kept kept kept kept kept kept kept kept gone told"},
    {"the_wish_damaged", [](Lives& life) { life.tamper("UPDATE wishes SET lasting_ms = 1"); },
     "kept kept kept kept kept kept kept kept kept kept gone told"},
    {"the_volume_damaged",
     [](Lives& life) { life.tamper("UPDATE volumes SET volume_ul = 9000000"); },
     "kept kept kept kept kept unknown kept kept kept kept kept told"},
    {"the_course_damaged", [](Lives& life) { life.tamper("UPDATE usual_course SET mean = 9"); },
     "kept kept kept kept kept kept unknown kept kept kept kept told"},
    {"the_effect_damaged", [](Lives& life) { life.tamper("UPDATE dose_effect SET share = 9"); },
     "kept kept kept kept kept kept kept unknown kept kept kept told"},
    {"the_anchor_damaged",
     [](Lives& life) { life.tamper("UPDATE dose_anchor SET beyond_chemistry = 0"); },
     "kept kept kept kept kept kept kept kept halved kept kept told"},
    {"the_reference_damaged", [](Lives& life) { life.tamper("UPDATE reference SET ph = 9"); },
     "kept kept kept kept kept kept kept kept kept unknown kept told"},
    {"the_file_damaged",
     [](Lives& life) {
       life.tamper("PRAGMA wal_checkpoint(TRUNCATE)");
       std::filesystem::resize_file(life.path, 8192);
     },
     "full gone unknown kept kept unknown unknown unknown unknown unknown gone told"},
    {"an_older_ledger_put_back", [](Lives& life) { life.put_back_older(); },
     "full kept kept kept kept kept kept kept kept kept gone told"},
    {"moved_to_another_machine", [](Lives& life) { life.boot.home.machine = "machine-b"; },
     "full kept kept kept kept kept kept kept kept kept gone told"},
    {"moved_to_another_machine_that_is_up_for_long",
     [](Lives& life) {
       life.boot.home.machine = "machine-b";
       life.boot.id = "boot-b";
       life.boot.now.mono = Instant{1000h};
       life.witness.reset();
     },
     "full kept unknown kept kept kept kept kept kept kept gone told"},
    {"copied_to_another_place", [](Lives& life) { life.boot.home.path = "/srv/copy"; },
     "full kept kept kept kept kept kept kept kept kept gone told"},
    {"upgraded_from_before_the_anchor", [](Lives& life) { life.tamper(back_to_schema(6)); },
     "kept kept kept kept kept kept kept kept unknown kept kept no"},
    {"upgraded_from_before_the_past", [](Lives& life) { life.tamper(back_to_schema(7)); },
     "kept kept kept kept kept kept kept kept kept kept kept no"},
};

class LifeTable : public Lives, public testing::WithParamInterface<Life> {};
INSTANTIATE_TEST_SUITE_P(Rows, LifeTable, testing::ValuesIn(kLives),
                         [](const auto& row) { return std::string{row.param.name}; });

TEST_P(LifeTable, gives_every_fact_its_word) {
  know();
  GetParam().happens(*this);
  EXPECT_EQ(words(), GetParam().words) << kFacts;
}

}  // namespace
}  // namespace limegate::journal
