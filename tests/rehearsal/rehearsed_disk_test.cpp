// The disk of a rehearsal: what is on it when the program, or the power, goes in mid write.

#include "rehearsal/rehearsed_disk.h"

#include <chrono>
#include <memory>
#include <vector>

#include <gtest/gtest.h>

namespace limegate::rehearsal {
namespace {

using namespace std::chrono_literals;

class DiskOfRehearsal : public testing::Test {
 protected:
  DiskOfRehearsal() : disk_(RehearsedDisk::make(scratch_place(), "reef", boot_).value()) {
    disk_->serve({[] { return true; },
                  [this](std::function<void()> what) { posted_.push_back(std::move(what)); },
                  [](std::int64_t) {}});
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
  int answers_ = 0;
};

TEST_F(DiskOfRehearsal, that_is_quick_has_written_at_once_and_keeps_it) {
  write(1);
  disk_->close(RehearsedDisk::Gone::power);
  EXPECT_TRUE(disk_->counted(1));
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

}  // namespace
}  // namespace limegate::rehearsal
