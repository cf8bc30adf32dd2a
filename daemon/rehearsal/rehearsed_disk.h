#pragma once

#include <cstdint>
#include <deque>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include <tl/expected.hpp>

#include "guard/record.h"
#include "journal/ledger.h"
#include "rehearsal/unsynced_writes.h"
#include "shell/ledger_port.h"
#include "station/history.h"

namespace limegate::rehearsal {

/// The disk of one rehearsed station: the daemon's own ledger in a real SQLite file, and the
/// guard's record beside it. They outlive the rehearsed program, as a disk does.
/// Threads: one owner.
class RehearsedDisk : public shell::LedgerPort {
 public:
  /// Calls `post` with each reply, and asks `acts` before anything is written: a program that died
  /// writes nothing and hears nothing.
  struct Program {
    std::function<bool()> acts;
    std::function<void(std::function<void()>)> post;
    std::function<void(std::int64_t pulse)> wrote_pulse;  ///< a pulse's row was begun or closed
    /// The row of a pulse or a stir was begun, so long after it was asked for; any row was refused.
    std::function<void(Duration took)> wrote_row;
    std::function<void()> refused_row;
  };

  struct Files {
    std::string ledger, guard;
    std::string witness = {};  ///< outside the state directory; empty: none
  };
  /// On files that are there and stay: a prepared ledger.
  RehearsedDisk(Files files, std::string station)
      : files_(std::move(files)), station_(std::move(station)) {}

  /// Makes the scratch directory in `where`, and a prepared ledger in it.
  /// Error: one line that names the directory.
  [[nodiscard]] static tl::expected<std::unique_ptr<RehearsedDisk>, std::string> make(
      const std::string& where, const std::string& station, const journal::Boot& boot);
  ~RehearsedDisk() override;
  RehearsedDisk(const RehearsedDisk&) = delete;
  RehearsedDisk& operator=(const RehearsedDisk&) = delete;
  RehearsedDisk(RehearsedDisk&&) = delete;
  RehearsedDisk& operator=(RehearsedDisk&&) = delete;

  void serve(Program program) { program_ = std::move(program); }

  /// What a start, or a recovery from a fault, reads. Nothing if the disk is full or the file can't
  /// be read.
  struct Opened {
    station::History history;
    std::vector<std::string> notes;  ///< for a person
  };
  [[nodiscard]] std::optional<Opened> open(const journal::Boot& boot);
  [[nodiscard]] std::optional<guard::Record> guard_record() const;
  [[nodiscard]] std::optional<journal::Witness> witness() const;
  /// Where a program's guard keeps its record: here.
  [[nodiscard]] std::unique_ptr<guard::RecordStore> guard_store();
  enum class Gone { program, power };
  /// The program is gone, and so are its connection and the writes that had not begun. The one that
  /// was under way is done for all that; if the power went too, it is there as a whole or not at
  /// all, and of whatever was not synced any part is lost.
  void close(Gone what);

  enum class Room { enough, none };
  void set_room(Room room) { room_ = room; }
  /// Each write takes so long, one after the other, until it is done and its answer comes.
  void set_write_takes(Duration each) { write_takes_ = each; }
  [[nodiscard]] Duration write_takes() const { return write_takes_; }
  /// Once a second, with the world's time: what is due is done.
  void second(Duration world);
  /// What people and disks do to the ledger's file; but for the copy only while the program is
  /// down.
  void lose_ledger();
  /// `name` = of the copy: others may be made meanwhile.
  void copy_state(Duration name);
  enum class Copied { ledger, all };
  /// As it was when it was copied; if it never was, it stays.
  void put_back(Duration name, Copied what);
  /// Flips a bit at this share of the file's length (0 .. 1).
  void damage_ledger(double where);

  /// What the file says of a pulse, read by a connection of its own; absent if there is no row.
  [[nodiscard]] std::optional<Millilitres> counted(std::int64_t pulse) const;
  [[nodiscard]] std::int64_t newest_pulse() const { return newest_pulse_; }

  void write(const std::string& station, const station::Entry& entry, WallTime now,
             Reply reply) override;
  void save(const guard::Record& record, guard::RecordStore::Reply reply);

 private:
  void bear_witness();
  void cut_power();
  void in_turn(std::function<void()> write);
  [[nodiscard]] std::optional<std::string> store(const station::Entry& entry, WallTime now);

  Files files_;
  std::string station_;
  std::string scratch_;  ///< goes with this object; empty = nothing goes
  Program program_;
  Room room_ = Room::enough;
  struct Waiting {
    Duration due;
    std::function<void()> write;
  };
  std::deque<Waiting> waiting_;  ///< for a slow disk; the first is under way
  Duration write_takes_{}, world_{}, busy_until_{};
  std::unique_ptr<UnsyncedWrites> unsynced_;  ///< of the scratch directory
  bool cutting_ = false;                      ///< the power goes within the write under way
  std::optional<journal::Ledger> ledger_;     ///< absent after a fault, until it is opened again
  mutable std::optional<journal::Database> judge_;
  std::int64_t newest_pulse_ = 0;
};

/// Where scratch directories go unless something else is asked for: memory, where there is such.
[[nodiscard]] std::string scratch_place();

}  // namespace limegate::rehearsal
