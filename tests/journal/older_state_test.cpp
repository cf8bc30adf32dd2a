// A state directory of the first release: taken on as it is, in one transaction, without a hold of
// its own.

#include <filesystem>

#include <gtest/gtest.h>

#include "journal/ledger_schema.h"
#include "journal/scratch.h"
#include "support/places.h"

namespace limegate::journal {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using What = station::Wish::What;

class OlderState : public Scratch {
 protected:
  OlderState() {
    std::filesystem::copy_file(test::data_dir() + "/state-of-schema-5/ledger.db", path);
    // An hour later in the boot that wrote it; its guard knew of pulses, and kept nothing else.
    boot = {"0b5f8f1e-2f0c-4c55-9a51-6a0f3a1d7c11", {Instant{27h}, WallTime{24h * 20501 + 1h}}};
    copy = station::SecondCopy{49, std::nullopt};
  }
};

TEST_F(OlderState, starts_without_a_hold_of_its_own_and_forgets_nothing) {
  const Ledger ledger = opened();
  EXPECT_TRUE(ledger.notes().empty()) << ledger.notes().front();
  const station::History read = history(ledger);
  EXPECT_FALSE(full(read));
  EXPECT_EQ(read.newest_pulse_id, 49);
  EXPECT_EQ(read.latches, (std::vector<std::string>{"ph-second-ceiling"}));
  ASSERT_EQ(read.wishes.size(), 4U);
  EXPECT_EQ(read.wishes[1].what, What::volume_at_station);
  EXPECT_EQ(read.wishes[1].volume.count(), 900.0);
  EXPECT_EQ(read.usual_course[95], (signal::DayCourse::Quarter{8.2 + 0.001 * 95, 9}));
  EXPECT_EQ(read.effect, (station::LearnedEffect{0.875, 5}));
  EXPECT_EQ(read.reference.ph, Ph{8.15});
  EXPECT_EQ(read.newest_stir_id, 12);
  EXPECT_TRUE(read.last_stir);
  EXPECT_EQ(number("SELECT count(*) FROM pulses"), 48);
  EXPECT_EQ(number("PRAGMA user_version"), kSchema);
}

TEST_F(OlderState, is_the_same_at_each_start_from_then_on) {
  const double first = sum(history(opened()));
  EXPECT_GT(first, 500.0);
  copy->kept.emplace();
  for (int i = 0; i < 3; ++i) {
    const Ledger ledger = opened();
    EXPECT_TRUE(ledger.notes().empty());
    EXPECT_EQ(sum(history(ledger)), first);
    EXPECT_EQ(history(ledger).latches.size(), 1U);
  }
}

TEST_F(OlderState, that_cannot_be_brought_up_to_date_stays_as_it_was) {
  tamper("ALTER TABLE wishes RENAME COLUMN lasting_ms TO lasting");
  const auto ledger = Ledger::open(path, {{"reef", copy}}, boot);
  ASSERT_TRUE(ledger);
  EXPECT_TRUE(full(history(*ledger)));
  EXPECT_EQ(history(*ledger).latches, (std::vector<std::string>{"record"}))
      << "the guard of that time kept no latches";
  ASSERT_EQ(kept_aside(), 1U);
  for (const auto& entry : std::filesystem::directory_iterator{folder}) {
    const std::string name = entry.path().filename().string();
    if (name.find(".damaged-") != std::string::npos && name.find("-wal") == std::string::npos &&
        name.find("-shm") == std::string::npos) {
      path = entry.path().string();
    }
  }
  EXPECT_EQ(number("PRAGMA user_version"), 5);
  EXPECT_EQ(number("SELECT count(*) FROM latches"), 1);
}

}  // namespace
}  // namespace limegate::journal
