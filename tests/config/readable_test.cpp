#include "config/readable.h"

#include <filesystem>
#include <string>

#include <gtest/gtest.h>
#include <pwd.h>
#include <sys/stat.h>
#include <unistd.h>

#include "support/program.h"

namespace limegate::config {
namespace {

/// A file two directories down. Owners can be changed by root alone.
class Barrier : public testing::Test {
 protected:
  void SetUp() override {
    if (::getuid() != 0) {
      GTEST_SKIP() << "gives files to others: run it as root";
    }
    // NOLINTNEXTLINE(concurrency-mt-unsafe): no thread has begun
    const passwd* nobody = ::getpwnam("nobody");
    ASSERT_NE(nobody, nullptr);
    user_ = *nobody;
    ::chmod(folder_.path().c_str(), 0755);
    std::filesystem::create_directories(inner());
    test::write_file(file(), "secret");
    set(outer(), 0, 0, 0755);
    set(inner(), 0, 0, 0755);
  }
  static void set(const std::string& path, uid_t owner, gid_t group, mode_t mode) {
    ASSERT_EQ(::chown(path.c_str(), owner, group), 0);
    ASSERT_EQ(::chmod(path.c_str(), mode), 0);
  }
  [[nodiscard]] std::string outer() const { return folder_.path() + "/outer"; }
  [[nodiscard]] std::string inner() const { return outer() + "/inner"; }
  [[nodiscard]] std::string file() const { return inner() + "/password"; }

  test::TempDir folder_;
  passwd user_{};
};

// POSIX.1-2017, 4.5, File Access Permissions: owner, else group, else others; never a later class.
TEST_F(Barrier, is_the_file_where_its_class_may_not_read) {
  const uid_t me = user_.pw_uid;
  const gid_t mine = user_.pw_gid;
  set(file(), 0, 0, 0600);
  EXPECT_EQ(barrier_to(file(), user_), file()) << "root's own";
  set(file(), 0, mine, 0640);
  EXPECT_FALSE(barrier_to(file(), user_)) << "by the group";
  set(file(), 0, mine, 0604);
  EXPECT_EQ(barrier_to(file(), user_), file()) << "others may, the group may not";
  set(file(), me, mine, 0400);
  EXPECT_FALSE(barrier_to(file(), user_)) << "by the owner";
  set(file(), me, mine, 0044);
  EXPECT_EQ(barrier_to(file(), user_), file()) << "all others may, the owner may not";
  set(file(), 0, 0, 0644);
  EXPECT_FALSE(barrier_to(file(), user_)) << "everybody";
}

TEST_F(Barrier, is_the_first_directory_that_may_not_be_entered) {
  set(file(), user_.pw_uid, user_.pw_gid, 0600);
  EXPECT_FALSE(barrier_to(file(), user_));
  set(inner(), 0, 0, 0744);
  EXPECT_EQ(barrier_to(file(), user_), inner()) << "it may be listed, and that is not enough";
  set(outer(), 0, 0, 0700);
  EXPECT_EQ(barrier_to(file(), user_), outer());
  set(outer(), 0, user_.pw_gid, 0710);
  EXPECT_EQ(barrier_to(file(), user_), inner());
}

TEST_F(Barrier, is_found_behind_a_link_too) {
  set(file(), user_.pw_uid, user_.pw_gid, 0600);
  const std::string link = folder_.path() + "/link";
  std::filesystem::create_symlink(file(), link);
  EXPECT_FALSE(barrier_to(link, user_));
  set(inner(), 0, 0, 0700);
  EXPECT_EQ(barrier_to(link, user_), inner());
}

TEST_F(Barrier, is_none_for_root) {
  set(file(), user_.pw_uid, user_.pw_gid, 0000);
  passwd root = user_;
  root.pw_uid = 0;
  EXPECT_FALSE(barrier_to(file(), root));
}

}  // namespace
}  // namespace limegate::config
