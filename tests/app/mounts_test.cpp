// A state directory on a disk of its own, which may come late. The tables are fstab(5)'s.
#include "files/mounts.h"

#include <filesystem>
#include <fstream>
#include <string>

#include <gtest/gtest.h>

#include "app/bench.h"
#include "app/mount_wait.h"
#include "config/load.h"
#include "support/places.h"
#include "support/program.h"

namespace limegate::test {
namespace {

class Mounts : public ::testing::Test {
 protected:
  [[nodiscard]] std::string missing(const std::string& path, const std::string& fstab,
                                    const std::string& mounted) const {
    std::ofstream{folder_.path() + "/fstab"} << fstab;
    std::ofstream{folder_.path() + "/mounts"} << mounted;
    return files::missing_mount(path, folder_.path() + "/fstab", folder_.path() + "/mounts");
  }

 private:
  TempDir folder_;
};

constexpr const char* kRoot = "/dev/root / ext4 rw 0 0\n";
constexpr const char* kTable =
    "# a comment\n"
    "UUID=1 / ext4 errors=remount-ro 0 1\n"
    "UUID=2 none swap sw 0 0\n"
    "UUID=3 /no-such/reef ext4 nofail 0 2\n"
    "UUID=4 /no-such/reef/inner/ ext4 nofail 0 2\n"
    "UUID=5 /no-such/by-hand ext4 noauto 0 2\n"
    "UUID=6 /no-such/with\\040space ext4 nofail 0 2\n";

TEST_F(Mounts, ThatAreNotThereYetAreNamed) {
  EXPECT_EQ(missing("/no-such/reef/state", kTable, kRoot), "/no-such/reef");
  EXPECT_EQ(missing("/no-such/reef", kTable, kRoot), "/no-such/reef");
  EXPECT_EQ(missing("/no-such/reef/inner/state", kTable, kRoot), "/no-such/reef/inner");
  EXPECT_EQ(missing("/no-such/with space/state", kTable, kRoot), "/no-such/with space");
}

// Found by an attack: a link that leads nowhere yet was taken for the place itself.
TEST_F(Mounts, AreSeenBehindALinkThatLeadsNowhereYet) {
  const TempDir folder;
  const std::string link = folder.path() + "/state";
  std::filesystem::create_symlink("/no-such/reef/state", link);
  EXPECT_EQ(missing(link, kTable, kRoot), "/no-such/reef");
  EXPECT_EQ(missing(link + "/below", kTable, kRoot), "/no-such/reef");
  const std::string second = folder.path() + "/second";
  std::filesystem::create_symlink("state", second);
  EXPECT_EQ(missing(second, kTable, kRoot), "/no-such/reef");
  std::filesystem::create_symlink("round", folder.path() + "/round");
  EXPECT_EQ(missing(folder.path() + "/round", kTable, kRoot), "");
}

TEST_F(Mounts, ThatAreThereOrOfOthersAreNot) {
  const std::string both = std::string{kRoot} + "/dev/sda1 /no-such/reef ext4 rw 0 0\n";
  EXPECT_EQ(missing("/no-such/reef/state", kTable, both), "");
  EXPECT_EQ(missing("/no-such/reef/inner/state", kTable, both), "/no-such/reef/inner");
  EXPECT_EQ(missing("/no-such/reefs/state", kTable, kRoot), "");
  EXPECT_EQ(missing("/no-such/by-hand/state", kTable, kRoot), "");
  EXPECT_EQ(missing("/var/lib/limegate", kTable, kRoot), "");
}

TEST_F(Mounts, OfWhichNothingIsKnownAreNotWaitedFor) {
  EXPECT_EQ(missing("/no-such/reef/state", "", kRoot), "");
  EXPECT_EQ(missing("/no-such/reef/state", "nonsense\n\\\n/no-such/reef\n", kRoot), "");
  EXPECT_EQ(missing("/no-such/reef/state", kTable, ""), "") << "no /proc here";
  EXPECT_EQ(files::missing_mount("/no-such/reef", "/no-such/fstab", "/no-such/mounts"), "");
}

TEST(MountWait, KeepsEveryOutletOffUntilTheDiskIsThere) {
  Bench bench{{}};
  const auto config = config::load(bench.config());
  ASSERT_TRUE(config);
  bench.slave().switch_from_elsewhere(Bench::kBoard, Bench::kPump, true);
  ASSERT_TRUE(bench.pump_on());
  int looks = 0;
  app::wait_for_mounts(*config, [&](const std::string& path) {
    const bool there = path != config->state_dir || ++looks > 2;
    return there ? std::string{} : "/no-such/reef";
  });
  EXPECT_EQ(looks, 3);
  EXPECT_FALSE(bench.pump_on());
}

// Found by an attack: both began a ledger below the mount point, where it is not found again.
TEST(MountWait, WithoutTheDiskNothingIsPreparedOrReleased) {
  Bench bench{{}};
  const std::string folder = std::filesystem::path{bench.config()}.parent_path().string();
  const std::string table = folder + "/fstab";
  write_file(table, "UUID=1 " + bench.state_dir() + " ext4 nofail 0 2\n");
  const auto with_table = [&](const std::string& words) {
    return run_program({"/usr/bin/unshare", "-m", "sh", "-c",
                        "mount --bind " + table + " /etc/fstab && " + limegate_path() + words});
  };
  const Ran prepared = with_table(" prepare " + bench.config());
  EXPECT_EQ(prepared.code, 1) << prepared.output;
  EXPECT_TRUE(contains(prepared.output, "it is not mounted")) << prepared.output;
  EXPECT_FALSE(std::filesystem::exists(bench.state_dir() + "/ledger.db"));
  bench.prepare();
  const Ran released = with_table(" release " + bench.config() + " record");
  EXPECT_EQ(released.code, 1) << released.output;
  EXPECT_TRUE(contains(released.output, "it is not mounted")) << released.output;
}

TEST(StateDir, of_a_link_that_leads_nowhere_is_told_so) {
  Bench bench{{}};
  std::filesystem::create_symlink("/no-such/place", bench.state_dir());
  const Ran ran = run_program({limegate_path(), "prepare", bench.config()});
  EXPECT_EQ(ran.code, 1);
  EXPECT_TRUE(contains(ran.output, "is a link to /no-such/place, and that is not there"))
      << ran.output;
}

TEST(MountWait, TouchesNothingWhereNothingIsMissing) {
  Bench bench{{}};
  const auto config = config::load(bench.config());
  ASSERT_TRUE(config);
  bench.slave().switch_from_elsewhere(Bench::kBoard, Bench::kPump, true);
  app::wait_for_mounts(*config, [](const std::string&) { return std::string{}; });
  EXPECT_TRUE(bench.pump_on());
}

}  // namespace
}  // namespace limegate::test
