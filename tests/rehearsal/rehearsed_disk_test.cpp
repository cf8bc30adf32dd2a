// The disk of a rehearsal: what is on it when the program, or the power, goes in mid write.

#include "rehearsal/rehearsed_disk.h"

#include <chrono>
#include <cstdint>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <map>
#include <memory>
#include <string>
#include <vector>

#include <gtest/gtest.h>

#include "journal/database.h"
#include "rehearsal/unsynced_writes.h"

namespace limegate::rehearsal {
namespace {

using namespace std::chrono_literals;

class DiskOfRehearsal : public testing::Test {
 protected:
  DiskOfRehearsal() : disk_(RehearsedDisk::make(scratch_place(), "reef", boot_).value()) {
    disk_->serve({[] { return true; },
                  [this](std::function<void()> what) { posted_.push_back(std::move(what)); },
                  [](std::int64_t) {}, [this](Duration took) { rows_took_.push_back(took); },
                  [this] { ++refused_; }});
    EXPECT_TRUE(disk_->open(boot_));
  }
  void write(std::int64_t id) {
    station::PulseRecord pulse;
    pulse.id = id;
    pulse.volume = Millilitres{10.0};
    disk_->write("reef", station::AppendPulse{pulse}, boot_.now.wall,
                 [this](const auto& fault) { answers_ += fault ? 0 : 1; });
  }
  void pass(Duration world) {
    disk_->second(world);
    for (const auto& what : std::exchange(posted_, {})) {
      what();
    }
  }

  journal::Boot boot_{"boot-1", {Instant{1h}, WallTime{std::chrono::hours{24 * 20454}}}, {}};
  std::unique_ptr<RehearsedDisk> disk_;
  std::vector<std::function<void()>> posted_;
  int answers_ = 0, refused_ = 0;
  std::vector<Duration> rows_took_;
};

TEST_F(DiskOfRehearsal, that_is_quick_has_written_at_once_and_keeps_it) {
  write(1);
  disk_->close(RehearsedDisk::Gone::power);
  EXPECT_TRUE(disk_->counted(1));
}

TEST_F(DiskOfRehearsal, says_how_long_a_row_took_and_of_each_that_was_refused) {
  disk_->set_write_takes(4s);
  write(1);
  write(2);
  pass(4s);
  pass(8s);
  EXPECT_EQ(rows_took_, (std::vector<Duration>{4s, 8s}));
  disk_->set_write_takes(0s);
  disk_->set_room(RehearsedDisk::Room::none);
  write(3);
  EXPECT_EQ(refused_, 1);
  EXPECT_EQ(rows_took_.size(), 2U);
}

TEST_F(DiskOfRehearsal, that_is_slow_writes_one_after_the_other) {
  disk_->set_write_takes(4s);
  pass(10s);
  write(1);
  write(2);
  pass(13s);
  EXPECT_FALSE(disk_->counted(1));
  pass(14s);
  EXPECT_TRUE(disk_->counted(1));
  EXPECT_FALSE(disk_->counted(2));
  EXPECT_EQ(answers_, 1);
  pass(18s);
  EXPECT_TRUE(disk_->counted(2));
  EXPECT_EQ(answers_, 2);
}

TEST_F(DiskOfRehearsal, ends_what_is_under_way_when_the_program_dies_and_loses_what_waits) {
  disk_->set_write_takes(4s);
  write(1);
  write(2);
  disk_->close(RehearsedDisk::Gone::program);
  EXPECT_TRUE(disk_->counted(1));
  EXPECT_FALSE(disk_->counted(2));
}

TEST_F(DiskOfRehearsal, loses_all_that_was_not_done_when_the_power_goes) {
  disk_->set_write_takes(4s);
  write(1);
  disk_->close(RehearsedDisk::Gone::power);
  pass(60s);
  EXPECT_FALSE(disk_->counted(1));
  EXPECT_EQ(answers_, 0);
}

TEST_F(DiskOfRehearsal, has_what_was_under_way_as_a_whole_or_not_at_all_when_the_power_goes) {
  int there = 0;
  disk_->set_write_takes(4s);
  for (std::int64_t i = 1; i <= 40; ++i) {
    pass(100s * i);
    write(2 * i);
    pass(100s * i + 4s);
    write(2 * i + 1);
    disk_->close(RehearsedDisk::Gone::power);
    ASSERT_TRUE(disk_->open(boot_)) << "a sound ledger, whatever part was lost";
    EXPECT_TRUE(disk_->counted(2 * i)) << "it was answered";
    there += disk_->counted(2 * i + 1) ? 1 : 0;
  }
  EXPECT_EQ(answers_, 40);
  EXPECT_GT(there, 0);
  EXPECT_LT(there, 40);
}

/// SQLite, "PRAGMA synchronous" (sqlite.org): with NORMAL a transaction may be lost by a power cut,
/// with FULL none is.
TEST(UnsyncedWrites, are_lost_by_a_power_cut_and_synced_ones_are_not) {
  for (const auto sync : {journal::Sync::normal, journal::Sync::full}) {
    std::string directory = scratch_place() + "/limegate-unsynced-XXXXXX";
    ASSERT_NE(mkdtemp(directory.data()), nullptr);
    const std::string file = directory + "/some.db";
    UnsyncedWrites unsynced{directory};
    std::map<std::string, std::string> after;
    {
      const auto database = journal::Database::open(file, journal::Creating::yes, sync);
      ASSERT_TRUE(database->execute("CREATE TABLE t (n); PRAGMA wal_checkpoint"));
      ASSERT_TRUE(database->execute("INSERT INTO t VALUES (1)"));
      EXPECT_EQ(*database->number("SELECT count(*) FROM t"), 1);
      after = unsynced.after_power_cut([] { return false; });
    }
    std::filesystem::remove(file);
    for (const auto& [path, content] : after) {
      std::ofstream{path, std::ios::binary} << content;
    }
    unsynced.forget();
    const auto database = journal::Database::open(file, journal::Creating::no, sync);
    ASSERT_TRUE(database);
    EXPECT_EQ(*database->number("SELECT count(*) FROM t"), sync == journal::Sync::full ? 1 : 0);
    std::filesystem::remove_all(directory);
  }
}

}  // namespace
}  // namespace limegate::rehearsal
