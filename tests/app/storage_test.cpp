#include <csignal>
#include <filesystem>
#include <fstream>
#include <ostream>
#include <string>
#include <vector>

#include <gtest/gtest.h>
#include <sys/mount.h>

#include "app/bench.h"
#include "support/places.h"
#include "support/wait_until.h"

namespace limegate::test {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

Bench::Plan quick_plan() {
  Bench::Plan plan;
  plan.max_pulse_ml = 12.5;
  return plan;
}

/// A small file system of its own for the state, which can be filled and made read-only.
class OwnDisk {
 public:
  explicit OwnDisk(std::string path) : path_(std::move(path)) {
    std::filesystem::create_directories(path_);
    mounted_ = ::mount("none", path_.c_str(), "tmpfs", 0, "size=2m") == 0;
  }
  ~OwnDisk() {
    if (mounted_) {
      ::umount2(path_.c_str(), MNT_DETACH);
    }
  }
  OwnDisk(const OwnDisk&) = delete;
  OwnDisk& operator=(const OwnDisk&) = delete;
  OwnDisk(OwnDisk&&) = delete;
  OwnDisk& operator=(OwnDisk&&) = delete;

  [[nodiscard]] bool mounted() const { return mounted_; }
  void fill() const {
    std::ofstream file(path_ + "/ballast");
    while (file.write("0123456789abcdef", 16)) {
    }
  }
  void make_room() const { std::filesystem::remove(path_ + "/ballast"); }
  [[nodiscard]] bool remount(unsigned long flags) const {
    return ::mount("none", path_.c_str(), "tmpfs", MS_REMOUNT | flags, "size=2m") == 0;
  }

 private:
  std::string path_;
  bool mounted_ = false;
};

TEST(Storage, a_full_disk_holds_with_its_reason_and_dosing_resumes_alone) {
  Bench bench{quick_plan()};
  const OwnDisk disk{bench.state_dir()};
  ASSERT_TRUE(disk.mounted()) << "this test needs to mount a small file system: run it as root";
  bench.prepare();
  bench.start();
  ASSERT_TRUE(bench.let_pulse_begin()) << bench.log();
  disk.fill();
  ASSERT_TRUE(bench.wait_for([&] { return contains(bench.log(), "disk full"); })) << bench.log();
  ASSERT_TRUE(bench.let_pass(10min)) << "the daemon must live on";
  const double held_at = bench.delivered_ml();
  ASSERT_TRUE(bench.let_pass(3h));
  EXPECT_EQ(bench.delivered_ml(), held_at) << "dosed without a record\n" << bench.log();
  disk.make_room();
  ASSERT_TRUE(bench.wait_for([&] { return bench.delivered_ml() > held_at; })) << bench.log();
  EXPECT_TRUE(contains(bench.log(), "event=ledger-sound")) << bench.log();
  EXPECT_EQ(bench.stop(), 0);
  EXPECT_GE(bench.counted_ml(), bench.delivered_ml() - 0.001);
  // A number of a pulse that was used up meanwhile has its row: nothing looks lost afterwards.
  bench.start();
  ASSERT_TRUE(bench.let_pass(2h)) << bench.log();
  EXPECT_FALSE(contains(bench.log(), "count as full")) << bench.log();
  EXPECT_EQ(bench.stop(), 0);
}

TEST(Storage, a_disk_gone_read_only_holds_with_its_reason_and_dosing_resumes_alone) {
  Bench bench{quick_plan()};
  const OwnDisk disk{bench.state_dir()};
  ASSERT_TRUE(disk.mounted()) << "this test needs to mount a small file system: run it as root";
  bench.prepare();
  bench.start();
  ASSERT_TRUE(bench.let_pulse_begin()) << bench.log();
  bench.kill();  // files open for writing would keep the file system from turning read-only
  EXPECT_EQ(bench.off(), 0);
  ASSERT_TRUE(disk.remount(MS_RDONLY));
  const double before = bench.delivered_ml();
  bench.start();
  ASSERT_TRUE(bench.wait_for([&] { return contains(bench.log(), "read-only"); })) << bench.log();
  ASSERT_TRUE(bench.let_pass(2h)) << bench.log();
  EXPECT_EQ(bench.delivered_ml(), before) << "dosed without a record";
  EXPECT_FALSE(bench.stirrer_on());
  const auto status = [&] { return run_program({limegate_path(), "status", bench.config()}).code; };
  EXPECT_NE(status(), 0) << "there is no socket on a read-only disk";
  ASSERT_TRUE(disk.remount(0));
  ASSERT_TRUE(bench.wait_for([&] { return bench.delivered_ml() > before; })) << bench.log();
  bench.run_freely();
  EXPECT_TRUE(wait_until([&] { return status() == 0; })) << "the control socket comes back";
  EXPECT_TRUE(std::filesystem::exists(bench.state_dir() + "/last-valid.toml"));
  EXPECT_EQ(bench.stop(), 0);
}

class LedgerLost : public testing::Test {
 protected:
  /// Doses, stops, lets `harm` do its work, and starts again: 24 h must count as full.
  void dose_harm_and_expect_a_full_day(const std::function<void(const std::string&)>& harm,
                                       const std::string& message) {
    bench_.prepare();
    bench_.start();
    ASSERT_TRUE(bench_.wait_for([&] { return bench_.delivered_ml() > 20; })) << bench_.log();
    ASSERT_EQ(bench_.stop(), 0);
    harm(bench_.state_dir() + "/ledger.db");
    const double before = bench_.delivered_ml();
    bench_.start();
    ASSERT_TRUE(bench_.let_pass(23h + 50min)) << bench_.log();
    EXPECT_EQ(bench_.delivered_ml(), before) << "the last 24 h must count as full";
    EXPECT_TRUE(contains(bench_.log(), message)) << bench_.log();
    EXPECT_TRUE(contains(bench_.log(), "count as full")) << bench_.log();
    ASSERT_TRUE(bench_.let_pass(2h));
    EXPECT_GT(bench_.delivered_ml(), before) << "after 24 h dosing goes on\n" << bench_.log();
    EXPECT_EQ(bench_.stop(), 0);
  }

  static Bench::Plan plan() {
    Bench::Plan plan = quick_plan();
    plan.poll_s = 5;
    return plan;
  }
  Bench bench_{plan()};
};

TEST_F(LedgerLost, gone) {
  dose_harm_and_expect_a_full_day(
      [](const std::string& path) {
        for (const char* suffix : {"", "-wal", "-shm"}) {
          std::filesystem::remove(path + suffix);
        }
      },
      "was missing and was begun anew");
}

TEST_F(LedgerLost, overwritten_with_nonsense) {
  dose_harm_and_expect_a_full_day(
      [](const std::string& path) { write_file(path, std::string(20000, 'x')); }, "was damaged");
}

TEST_F(LedgerLost, cut_in_half) {
  dose_harm_and_expect_a_full_day(
      [](const std::string& path) {
        std::filesystem::resize_file(path, std::filesystem::file_size(path) / 2);
      },
      "was damaged");
}

TEST_F(LedgerLost, one_row_changed_behind_its_checksum) {
  dose_harm_and_expect_a_full_day(
      [this](const std::string&) {
        (void)bench_.ledger_number(
            "UPDATE pulses SET counted_ul = counted_ul - 1000 WHERE id = (SELECT max(id) FROM "
            "pulses)");
      },
      "was damaged on the disk");
}

TEST_F(LedgerLost, an_old_copy_put_back) {
  bench_.prepare();
  const std::string ledger = bench_.state_dir() + "/ledger.db";
  const std::string copy = bench_.state_dir() + "/copy.db";
  std::filesystem::copy_file(ledger, copy);
  dose_harm_and_expect_a_full_day(
      [&](const std::string& path) {
        for (const char* suffix : {"-wal", "-shm"}) {
          std::filesystem::remove(path + suffix);
        }
        std::filesystem::copy_file(copy, path, std::filesystem::copy_options::overwrite_existing);
      },
      "The guard remembers pulses that the ledger does not know");
}

TEST(Storage, a_station_of_which_nothing_is_known_is_not_started) {
  Bench bench{quick_plan()};
  const Ran ran = run_program({limegate_path(), "run", bench.config()});
  EXPECT_EQ(ran.code, 2);
  EXPECT_TRUE(contains(ran.output, "limegate prepare " + bench.config())) << ran.output;
  EXPECT_EQ(bench.slave().requests(), 0);
  EXPECT_FALSE(std::filesystem::exists(bench.state_dir() + "/ledger.db"));
}

/// What may be left of a station whose ledger, or more, was lost.
struct Trace {
  const char* name;
  std::vector<std::string> lost;  ///< files below the bench's folder
  const char* told = "count as full";
  const char* counted = "counted: all of ";
};
void PrintTo(const Trace& trace, std::ostream* out) { *out << trace.name; }

class AnyTrace : public testing::TestWithParam<Trace> {};

// DESIGN: a missing ledger = the last 24 h are full; never silently new.
TEST_P(AnyTrace, of_a_station_means_lost_and_not_new) {
  Bench bench{quick_plan()};
  bench.prepare();
  bench.start();
  ASSERT_TRUE(bench.wait_for([&] { return bench.delivered_ml() > 20; })) << bench.log();
  ASSERT_EQ(bench.stop(), 0);
  for (const std::string& file : GetParam().lost) {
    for (const char* suffix : {"", "-wal", "-shm"}) {
      std::filesystem::remove(bench.state_dir() + file + suffix);
    }
  }
  const double before = bench.delivered_ml();
  // The program itself, as the service starts it, in real time.
  Program daemon{{limegate_path(), "run", bench.config()}, bench.state_dir() + "/../run"};
  std::string status;
  EXPECT_TRUE(wait_until([&] {
    status = run_program({limegate_path(), "status", bench.config()}).output;
    return contains(status, GetParam().counted);
  })) << status
      << daemon.output();
  EXPECT_TRUE(contains(status, "dosing is held")) << status;
  EXPECT_TRUE(contains(daemon.output(), GetParam().told)) << daemon.output();
  EXPECT_EQ(bench.delivered_ml(), before);
  daemon.signal(SIGTERM);
  EXPECT_EQ(daemon.wait(60s), 0) << daemon.output();
}

const std::string kLedger = "/ledger.db", kGuard = "/guard-reef", kLastValid = "/last-valid.toml",
                  kWitness = "-witness/witness-reef";
INSTANTIATE_TEST_SUITE_P(
    , AnyTrace,
    testing::Values(Trace{"the_ledger_alone",
                          {kGuard, kLastValid, kWitness},
                          "nothing is lost by that",  // it is sound: what it knows counts
                          "counted: 2"},
                    Trace{"the_guards_record_alone", {kLedger, kLastValid, kWitness}},
                    Trace{"the_last_valid_file_alone", {kLedger, kGuard, kWitness}},
                    Trace{"the_witness_alone", {kLedger, kGuard, kLastValid}}),
    [](const auto& row) { return std::string{row.param.name}; });

TEST(Storage, a_station_of_which_only_the_last_valid_file_is_left_is_told_to_be_prepared) {
  Bench bench{quick_plan()};
  std::filesystem::create_directories(bench.state_dir());
  write_file(bench.state_dir() + "/last-valid.toml", read_file(bench.config()));
  bench.start();
  ASSERT_TRUE(bench.let_pass(3h)) << bench.log();
  EXPECT_EQ(bench.delivered_ml(), 0);
  EXPECT_TRUE(contains(bench.log(), "limegate prepare")) << bench.log();
  EXPECT_EQ(bench.stop(), 0);
}

TEST(Storage, a_record_that_cannot_be_written_is_told_and_dosing_goes_on) {
  Bench bench{quick_plan()};
  bench.prepare();
  const std::string record = bench.state_dir() + "/readings.db";
  std::filesystem::create_directories(record);  // no file can be opened there
  bench.start();
  ASSERT_TRUE(bench.let_pass(3h)) << bench.log();
  EXPECT_GT(bench.delivered_ml(), 0);
  EXPECT_TRUE(contains(bench.log(), "error: event=record-not-written ")) << bench.log();
  EXPECT_FALSE(contains(bench.log(), "event=record-not-written", 2)) << "once";
  std::filesystem::remove(record);
  ASSERT_TRUE(bench.let_pass(10min)) << bench.log();
  EXPECT_TRUE(contains(bench.log(), "event=record-written ")) << bench.log();
  EXPECT_EQ(bench.stop(), 0);
}

// Found by a review: the page showed less of the past, and nobody was told.
TEST(Storage, a_damaged_record_is_kept_aside_and_told_and_dosing_goes_on) {
  Bench bench{quick_plan()};
  bench.prepare();
  write_file(bench.state_dir() + "/readings.db", std::string(20000, 'x'));
  bench.start();
  ASSERT_TRUE(bench.let_pass(1h)) << bench.log();
  EXPECT_TRUE(contains(bench.log(), "event=record-set-aside ")) << bench.log();
  EXPECT_GT(bench.delivered_ml(), 0);
  EXPECT_EQ(bench.stop(), 0);
}

TEST(Storage, a_ledger_of_a_newer_version_is_left_alone) {
  Bench bench{quick_plan()};
  bench.prepare();
  (void)bench.ledger_number("PRAGMA user_version = 99");
  const auto size = std::filesystem::file_size(bench.state_dir() + "/ledger.db");
  bench.start();
  ASSERT_TRUE(bench.let_pass(7h)) << bench.log();
  EXPECT_EQ(bench.delivered_ml(), 0);
  EXPECT_TRUE(contains(bench.log(), "newer version")) << bench.log();
  EXPECT_FALSE(contains(bench.log(), "closed after a fault"))
      << "what fails since then is not the cause\n"
      << bench.log();
  EXPECT_EQ(bench.stop(), 0);
  EXPECT_EQ(std::filesystem::file_size(bench.state_dir() + "/ledger.db"), size);
  EXPECT_EQ(bench.ledger_number("PRAGMA user_version"), 99);
}

TEST(Storage, a_second_daemon_on_the_same_ledger_refuses_and_switches_nothing) {
  Bench bench{quick_plan()};
  bench.prepare();
  bench.start();
  ASSERT_TRUE(bench.let_pulse_begin()) << bench.log();
  ASSERT_TRUE(bench.pump_on());  // the first one stands still in the middle of a pulse
  const auto changes = bench.slave().log().size();
  const Ran second = run_program({limegate_path(), "run", bench.config()});
  EXPECT_EQ(second.code, 3);
  EXPECT_TRUE(contains(second.output, "another limegate holds")) << second.output;
  for (const char* how : {"--never-dosed", "--moved-here", "--json"}) {
    const Ran prepare = run_program({limegate_path(), "prepare", bench.config(), how});
    EXPECT_EQ(prepare.code, 3) << how;
    EXPECT_TRUE(contains(prepare.output, "A limegate runs with ")) << prepare.output;
  }
  EXPECT_EQ(bench.slave().log().size(), changes);
  EXPECT_TRUE(bench.pump_on());
  EXPECT_EQ(bench.stop(), 0);
}

}  // namespace
}  // namespace limegate::test
