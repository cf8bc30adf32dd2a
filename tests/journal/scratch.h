#pragma once

#include <chrono>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>

#include <gtest/gtest.h>
#include <stdlib.h>  // NOLINT(modernize-deprecated-headers): mkdtemp is not in <cstdlib>

#include "journal/database.h"
#include "journal/ledger.h"

namespace limegate::journal {

/// What takes from a ledger all that came after a version of its tables, if nothing is in its past
/// yet: it is one of that version then.
inline std::string back_to_schema(int version) {
  const std::string before_8 = "DROP TABLE past_pulses; DROP TABLE past_stirs; DROP TABLE days; ";
  const std::string before_9 = "DROP TABLE alerts; DROP TABLE alert_messages; ";
  return std::string{version < 11 ? "DROP TABLE book_beside; " : ""} +
         "DROP TRIGGER latches_INSERT; DROP TRIGGER latches_UPDATE; DROP TRIGGER latches_DELETE; "
         "DROP TRIGGER wishes_INSERT; DROP TRIGGER wishes_UPDATE; DROP TRIGGER wishes_DELETE; "
         "DROP TABLE kept_changes; " +
         (version < 10 ? "DROP TABLE book; " : "") + (version < 9 ? before_9 : "") +
         (version < 8 ? before_8 : "") +
         (version < 7 ? "DROP TABLE dose_anchor; DROP TABLE dose_cycles; " : "") +
         "PRAGMA application_id = 0; PRAGMA user_version = " + std::to_string(version);
}

/// A test with a folder of its own, a ledger file in it, and a boot that goes on.
class Scratch : public testing::Test {
 protected:
  Scratch() {
    std::string name =
        (std::filesystem::temp_directory_path() / "limegate-journal-XXXXXX").string();
    folder = ::mkdtemp(name.data());
    path = (folder / "ledger.sqlite").string();
  }
  ~Scratch() override { std::filesystem::remove_all(folder); }
  Scratch(const Scratch&) = delete;
  Scratch& operator=(const Scratch&) = delete;
  Scratch(Scratch&&) = delete;
  Scratch& operator=(Scratch&&) = delete;

  void remove_ledger() const {
    for (const char* suffix : {"", "-wal", "-shm"}) {
      std::filesystem::remove(path + suffix);
    }
  }
  /// One second passes on both clocks.
  Moment later(Duration by = std::chrono::seconds{1}) {
    boot.now.mono += by;
    boot.now.wall += by;
    return boot.now;
  }
  /// The machine boots again after a while: a new id, and the monotonic clock begins anew.
  void reboot(const std::string& id, Duration off = std::chrono::minutes{1}) {
    boot.id = id;
    boot.now.mono = Instant{std::chrono::seconds{20}};
    boot.now.wall += off;
  }
  /// Beside a sound copy of the guard that knows of nothing, unless a test says otherwise.
  [[nodiscard]] Ledger opened(const std::vector<std::string>& stations = {"reef"}) const {
    std::vector<Beside> beside;
    beside.reserve(stations.size());
    for (const std::string& station : stations) {
      beside.push_back({station, copy});
    }
    auto ledger = Ledger::open(path, beside, boot);
    EXPECT_TRUE(ledger) << ledger.error().detail;
    return std::move(*ledger);
  }
  [[nodiscard]] Ledger prepared() const {
    const auto added = Ledger::prepare(path, {"reef"}, boot);
    EXPECT_TRUE(added) << added.error().detail;
    return opened();
  }
  [[nodiscard]] station::History history(const Ledger& ledger,
                                         const std::string& station = "reef") const {
    auto history = ledger.history(station, boot);
    EXPECT_TRUE(history) << history.error().detail;
    return std::move(*history);
  }
  [[nodiscard]] dosing::Stamp stamp(const Ledger& ledger) const {
    return {boot.now.mono.time_since_epoch() + ledger.lifetime_before_boot(), boot.now.wall};
  }
  [[nodiscard]] station::PulseRecord pulse(const Ledger& ledger, std::int64_t id,
                                           double volume = 30.0) const {
    const dosing::Stamp reserved = stamp(ledger);
    const Duration until_end = std::chrono::seconds{48};
    return {id,
            Millilitres{volume},
            std::chrono::seconds{45},
            reserved,
            {reserved.lifetime + until_end, reserved.wall + until_end}};
  }
  /// Runs SQL on the file from outside.
  void tamper(const std::string& sql) const {
    const auto database = Database::open(path, Creating::no, Sync::normal);
    ASSERT_TRUE(database);
    const auto done = database->execute(sql.c_str());
    ASSERT_TRUE(done) << done.error().detail;
  }
  [[nodiscard]] std::int64_t number(const std::string& sql) const {
    const auto database = Database::open(path, Creating::no, Sync::normal);
    const auto number = database->number(sql);
    EXPECT_TRUE(number);
    return number.value_or(-1);
  }
  [[nodiscard]] static double sum(const station::History& history) {
    double sum = 0.0;
    for (const dosing::Dose& dose : history.doses) {
      sum += dose.volume.count();
    }
    return sum;
  }
  [[nodiscard]] static bool full(const station::History& history) {
    return sum(history) >= kCountsAsFull.count();
  }
  [[nodiscard]] std::size_t kept_aside() const {
    std::size_t count = 0;
    for (const auto& entry : std::filesystem::directory_iterator{folder}) {
      const std::string name = entry.path().filename().string();
      count += name.find(".damaged-") != std::string::npos &&
                       name.find("-wal") == std::string::npos &&
                       name.find("-shm") == std::string::npos
                   ? 1U
                   : 0U;
    }
    return count;
  }
  void put(const std::string& bytes) const { std::ofstream{path, std::ios::binary} << bytes; }
  [[nodiscard]] std::string bytes() const {
    std::ifstream file{path, std::ios::binary};
    return {std::istreambuf_iterator<char>{file}, {}};
  }

  std::filesystem::path folder;
  std::string path;
  std::optional<station::SecondCopy> copy = station::SecondCopy{0, station::SecondCopy::Kept{}};
  Boot boot{"boot-1", {Instant{std::chrono::hours{50}}, WallTime{std::chrono::hours{490000}}}};
};

}  // namespace limegate::journal
