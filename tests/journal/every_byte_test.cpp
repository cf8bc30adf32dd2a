// One bit flipped in every byte of a small ledger, of its write-ahead log and of the guard's
// record: never less counted, never a latch lost, and a sentence whenever a row reads differently
// or is gone.

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <functional>
#include <set>
#include <sstream>
#include <string>
#include <thread>
#include <vector>

#include <gtest/gtest.h>
#include <stdlib.h>  // NOLINT(modernize-deprecated-headers): mkdtemp is not in <cstdlib>
#include <unistd.h>

#include "guard/record.h"
#include "journal/ledger.h"
#include "shell/second_copy.h"

namespace limegate::journal {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using What = station::Wish::What;

const Boot kBoot{"boot-1", {Instant{50h}, WallTime{490000h}}};

/// In memory where there is such: what is tested is no disk.
std::string own_folder() {
  std::string name =
      (access("/dev/shm", W_OK | X_OK) == 0 ? std::string{"/dev/shm"} : testing::TempDir()) +
      "/limegate-bytes-XXXXXX";
  return ::mkdtemp(name.data());
}

void put(const std::string& path, const std::string& bytes) {
  std::ofstream{path, std::ios::binary} << bytes;
}
std::string content(const std::string& path) {
  std::ifstream in{path, std::ios::binary};
  std::stringstream text;
  text << in.rdbuf();
  return text.str();
}

/// A state directory as it lies on the disk.
struct Files {
  std::string ledger, log, guard;
};

/// What a start makes of it.
struct Start {
  double counted = 0.0;
  std::set<std::string> latches;
  std::string rows;  ///< everything that came out of the ledger, as text
  bool told = false;
};

std::string rows_of(const station::History& read) {
  std::ostringstream out;
  for (const dosing::Dose& dose : read.doses) {
    out << dose.id << ' ' << dose.end.lifetime.count() << ' '
        << dose.end.wall.time_since_epoch().count() << ' ' << dose.volume.count() << '\n';
  }
  out << read.newest_pulse_id << ' ' << read.newest_stir_id << ' '
      << (read.last_stir ? read.last_stir->end.time_since_epoch().count() : 0) << ' '
      << (read.newest_given ? read.newest_given->lifetime.count() : 0) << '\n';
  for (const std::string& code : read.latches) {
    out << code << '\n';
  }
  for (const station::Wish& wish : read.wishes) {
    out << static_cast<int>(wish.what) << ' ' << wish.volume.count() << ' ' << wish.lasting.count()
        << ' ' << wish.asked.lifetime.count() << '\n';
  }
  for (const auto& quarter : read.usual_course) {
    out << quarter.mean << ' ' << quarter.days << ' ';
  }
  out << read.effect.share << ' ' << read.effect.days << ' '
      << (read.reference.ph ? read.reference.ph->count() : 0.0) << ' ' << read.reference.share
      << ' ' << read.reference.changed.lifetime.count() << ' ' << read.lifetime_before_boot.count();
  return out.str();
}

/// Starts from these files in a folder of its own.
Start start_from(const std::string& folder, const Files& files) {
  for (const auto& old : std::filesystem::directory_iterator{folder}) {
    std::filesystem::remove(old.path());
  }
  const std::string path = folder + "/ledger.db";
  put(path, files.ledger);
  if (!files.log.empty()) {
    put(path + "-wal", files.log);
  }
  put(folder + "/guard", files.guard);
  const auto copy = shell::second_copy_of(guard::read_record(folder + "/guard"));
  const auto ledger = Ledger::open(path, {{"reef", copy}}, kBoot);
  Start start;
  const auto history = ledger ? ledger->history("reef", kBoot) : tl::unexpected(ledger.error());
  if (!history) {
    // Held, and told why; the shell goes by the copy meanwhile.
    start.told = true;
    start.counted = kCountsAsFull.count();
    if (copy && copy->kept) {
      start.latches = {copy->kept->latches.begin(), copy->kept->latches.end()};
    }
    return start;
  }
  for (const dosing::Dose& dose : history->doses) {
    start.counted += dose.volume.count();
  }
  start.latches = {history->latches.begin(), history->latches.end()};
  start.rows = rows_of(*history);
  start.told = !ledger->notes().empty();
  return start;
}

class EveryByte : public testing::Test {
 protected:
  EveryByte() : folder_(own_folder()) { write(); }
  ~EveryByte() override { std::filesystem::remove_all(folder_); }
  EveryByte(const EveryByte&) = delete;
  EveryByte& operator=(const EveryByte&) = delete;
  EveryByte(EveryByte&&) = delete;
  EveryByte& operator=(EveryByte&&) = delete;

  /// Small pages, so that every byte of all tables can be tried.
  void write() {
    const std::string path = folder_ + "/written.db";
    {
      auto small = Database::open(path, Creating::yes, Sync::normal);
      ASSERT_TRUE(small->execute("PRAGMA journal_mode=DELETE; PRAGMA page_size=512; VACUUM"));
    }
    ASSERT_TRUE(Ledger::prepare(path, {"reef"}, kBoot));
    auto ledger = Ledger::open(path, {{"reef", station::SecondCopy{}}}, kBoot);
    ASSERT_TRUE(ledger);
    const auto stamp = [](Duration at) { return dosing::Stamp{at, kBoot.now.wall + at}; };
    const auto pulse = [&](std::int64_t id) {
      const dosing::Stamp at = stamp(id * 10min);
      ASSERT_TRUE(ledger->append("reef", station::PulseRecord{id, Millilitres{20.0}, 24s, at, at}));
    };
    for (const std::int64_t id : {1, 2, 3}) {
      pulse(id);
    }
    ASSERT_TRUE(ledger->close_pulse("reef", 1, station::Fate::given, Millilitres{20.0}));
    ASSERT_TRUE(ledger->append("reef", station::StirRecord{1, 15min, stamp(1h)}));
    ASSERT_TRUE(ledger->close_stir("reef", 1, stamp(75min)));
    ASSERT_TRUE(ledger->latch("reef", "ph-second-ceiling", kBoot.now.wall));
    ASSERT_TRUE(ledger->keep("reef", station::StoreQuarter{3, {8.2, 9}}));
    ASSERT_TRUE(ledger->keep("reef", station::LearnedEffect{0.75, 3}));
    ASSERT_TRUE(ledger->keep(
        "reef", station::LearnedAnchor{.first_share = 0.75, .beyond_chemistry = true}));
    ASSERT_TRUE(ledger->keep("reef", station::LearnedReference{Ph{8.1}, 0.75, stamp(1h)}));
    {
      // The log so far into the file: what follows stands in the log alone.
      const auto other = Database::open(path, Creating::no, Sync::normal);
      ASSERT_TRUE(other->execute("PRAGMA wal_checkpoint(TRUNCATE)"));
    }
    folded_.ledger = content(path);
    pulse(4);
    ASSERT_TRUE(ledger->close_pulse("reef", 4, station::Fate::cut_short, Millilitres{5.0}));
    const station::Wish pause{What::pause_at_station, {}, 5h, stamp(2h)};
    ASSERT_TRUE(ledger->keep("reef", pause));
    ASSERT_TRUE(ledger->latch("reef", "pump-stuck-on", kBoot.now.wall));
    pulse(5);
    killed_.ledger = content(path);
    killed_.log = content(path + "-wal");
    guard::Record record;
    record.boot = kBoot.id;
    record.newest_pulse_id = 3;
    record.kept = guard::Kept{{"ph-second-ceiling"}, {}};
    folded_.guard = record.to_line();
    record.newest_pulse_id = 5;
    record.kept = guard::Kept{{"ph-second-ceiling", "pump-stuck-on"}, {shell::kept_of(pause)}};
    killed_.guard = record.to_line();
  }

  /// Flips a bit of each byte of `which`, by two workers.
  void flip_each(const Files& files, std::string Files::*which) {
    const Start sound = start_from(folder_, files);
    ASSERT_FALSE(sound.told);
    const std::size_t size = (files.*which).size();
    ASSERT_GT(size, 50U);
    std::vector<std::string> found[2];
    std::size_t told[2] = {0, 0};
    const auto work = [&](std::size_t worker) {
      const std::string folder = own_folder();
      for (std::size_t at = worker; at < size; at += 2) {
        Files harmed = files;
        char& byte = (harmed.*which)[at];
        byte = static_cast<char>(byte ^ (1 << (at * 5 % 8)));
        const Start start = start_from(folder, harmed);
        told[worker] += start.told ? 1 : 0;
        const std::string what = check(sound, start);
        if (!what.empty()) {
          found[worker].push_back("byte " + std::to_string(at) + ": " + what);
        }
      }
      std::filesystem::remove_all(folder);
    };
    std::thread other{work, 1U};
    work(0);
    other.join();
    EXPECT_GT(told[0] + told[1], size / 10) << "most bytes mean something";
    for (const auto& some : found) {
      for (const std::string& what : some) {
        ADD_FAILURE() << what;
      }
    }
  }

  static std::string check(const Start& sound, const Start& harmed) {
    std::string what;
    if (harmed.counted < sound.counted) {
      what += "less is counted; ";
    }
    if (!std::includes(harmed.latches.begin(), harmed.latches.end(), sound.latches.begin(),
                       sound.latches.end())) {
      what += "a latch is lost; ";
    }
    if (harmed.rows != sound.rows && !harmed.told) {
      what += "rows read differently and nobody is told; ";
    }
    return what;
  }

  std::string folder_;
  Files folded_;  ///< everything in the ledger's file
  Files killed_;  ///< the newest transactions in the log
};

TEST_F(EveryByte, of_the_ledger) { flip_each(folded_, &Files::ledger); }
TEST_F(EveryByte, of_its_log) { flip_each(killed_, &Files::log); }
TEST_F(EveryByte, of_the_guards_record) { flip_each(killed_, &Files::guard); }

TEST_F(EveryByte, and_each_length_that_its_log_is_cut_to) {
  const Start sound = start_from(folder_, killed_);
  for (std::size_t length = 0; length < killed_.log.size(); length += 67) {
    Files cut = killed_;
    cut.log.resize(length);
    EXPECT_EQ(check(sound, start_from(folder_, cut)), "") << "cut to " << length;
  }
}

}  // namespace
}  // namespace limegate::journal
