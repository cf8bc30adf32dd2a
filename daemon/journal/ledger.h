#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "journal/database.h"
#include "station/effects.h"
#include "station/history.h"
#include "station/records.h"
#include "units/time.h"

namespace limegate::journal {

/// The machine's boot and the moment a ledger is opened in it.
struct Boot {
  std::string id;  ///< changes with every boot of the machine
  Moment now;
};

/// The write-ahead record of pulses and stirs, and the latches: SQLite in WAL mode, each write
/// synced in full before it is reported done, each row with a checksum of its own.
/// Threads: one at a time (the journal's).   Errors: values; after any of them the file is not to
/// be trusted until it was opened and read again.
class Ledger {
 public:
  /// Creates the ledger where there is none, and adds the stations it does not know. Rows and
  /// stations that are there stay as they are. Returns the names that were added.
  [[nodiscard]] static Stored<std::vector<std::string>> prepare(
      const std::string& path, const std::vector<std::string>& stations, const Boot& boot);

  /// Opens and checks. A missing or damaged file is replaced (a damaged one is kept beside it), and
  /// what can't be known counts as full for 24 h from now; `notes()` says so in sentences.
  [[nodiscard]] static Stored<Ledger> open(const std::string& path,
                                           const std::vector<std::string>& stations,
                                           const Boot& boot);

  [[nodiscard]] Stored<station::History> history(std::string_view station, const Boot& boot) const;
  /// The same for a start, beside the guard's own record. If the ledger does not know
  /// `newest_sent`, the newest pulse there, it is an old copy or lost its end, and the last 24 h
  /// count as full.
  [[nodiscard]] Stored<station::History> history_beside(std::string_view station, const Boot& boot,
                                                        std::int64_t newest_sent);

  [[nodiscard]] Stored<void> append(std::string_view station, const station::PulseRecord& pulse);
  [[nodiscard]] Stored<void> close_pulse(std::string_view station, std::int64_t id,
                                         station::Fate fate, Millilitres counted);
  [[nodiscard]] Stored<void> append(std::string_view station, const station::StirRecord& stir);
  [[nodiscard]] Stored<void> close_stir(std::string_view station, std::int64_t id,
                                        dosing::Stamp end);
  [[nodiscard]] Stored<void> latch(std::string_view station, std::string_view code, WallTime since);
  [[nodiscard]] Stored<void> release(std::string_view station, std::string_view code);
  [[nodiscard]] Stored<void> keep(std::string_view station, const station::Wish& wish);
  [[nodiscard]] Stored<void> keep(std::string_view station, const station::StoreQuarter& learned);
  [[nodiscard]] Stored<void> keep(std::string_view station, const station::LearnedEffect& learned);
  [[nodiscard]] Stored<void> keep(std::string_view station,
                                  const station::LearnedReference& learned);
  [[nodiscard]] Stored<void> keep(std::string_view station, const dosing::VolumeInForce& volume);
  [[nodiscard]] Stored<void> forget(std::string_view station, station::Wish::What what);
  [[nodiscard]] Stored<void> forget_usual_course(std::string_view station);

  /// Writes any one of these.
  [[nodiscard]] Stored<void> write(std::string_view station, const station::Entry& entry,
                                   WallTime now);

  /// From now on the last 24 h of this station count as full. `why` is one sentence for people.
  [[nodiscard]] Stored<void> presume_full(std::string_view station, const std::string& why,
                                          Moment now);

  /// Whether a row could be written now: writes one anew and syncs it.
  [[nodiscard]] Stored<void> prove_writable() const;

  /// What was found at opening and a person should know.
  [[nodiscard]] const std::vector<std::string>& notes() const { return notes_; }
  /// See station::History.
  [[nodiscard]] Duration lifetime_before_boot() const { return lifetime_before_boot_; }

 private:
  explicit Ledger(Database database) : database_(std::move(database)) {}
  [[nodiscard]] static Stored<Ledger> open_file(const std::string& path, Creating creating,
                                                const Boot& boot);
  [[nodiscard]] Stored<void> add_wishes(std::string_view station, station::History& history) const;
  [[nodiscard]] Stored<void> add_pulses(std::string_view station, dosing::Stamp now,
                                        station::History& history) const;
  [[nodiscard]] Stored<void> add_stirs(std::string_view station, station::History& history) const;
  [[nodiscard]] Stored<void> add_volumes(std::string_view station, station::History& history) const;
  [[nodiscard]] Stored<void> add_learned(std::string_view station, station::History& history) const;
  [[nodiscard]] Stored<void> know_boot(const Boot& boot);
  [[nodiscard]] Stored<void> set_damaged_rows_aside(Moment now);
  [[nodiscard]] Stored<void> presume_all_full(const std::string& why, Moment now);
  [[nodiscard]] Stored<void> presume_unknown(const std::vector<std::string>& stations, Moment now);
  [[nodiscard]] Stored<void> add_station(std::string_view station, Moment now) const;

  Database database_;
  std::string boot_id_;
  Duration lifetime_before_boot_{};
  std::vector<std::string> notes_;
};

}  // namespace limegate::journal
