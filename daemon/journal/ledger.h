#pragma once

#include <cstdint>
#include <functional>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "dosing/account.h"
#include "journal/alert_store.h"
#include "journal/database.h"
#include "journal/doubts.h"
#include "journal/log_check.h"
#include "journal/opening.h"
#include "journal/past.h"
#include "journal/witness.h"
#include "station/effects.h"
#include "station/history.h"
#include "station/records.h"
#include "units/time.h"

namespace limegate::journal {

struct PulseRow;

/// The write-ahead record of pulses and stirs, the latches, what the keeper asked for and what was
/// learned: SQLite in WAL mode, each write synced in full before it is reported done, each row with
/// a checksum of its own over key and value.
/// Threads: one at a time (the journal's).   Errors: values; after any of them the file is not to
/// be trusted until it was opened and read again.
class Ledger {
 public:
  /// Creates the ledger where there is none, and adds the stations it does not know. Rows and
  /// stations that are there stay as they are; a file that is mostly room is packed. A new station
  /// begins empty, unless its water may have been dosed within 24 h: another station of the ledger
  /// was, or `dosed_lately` says who knows.
  [[nodiscard]] static Stored<Prepared> prepare(const std::string& path,
                                                const std::vector<std::string>& stations,
                                                const Boot& boot, Water water = Water::unknown,
                                                const std::string& dosed_lately = {});

  /// A person states that this ledger is the newest of its water and was moved here whole: it lives
  /// here from now on, and what counted as full for that reason counts no more.
  [[nodiscard]] static Stored<Ledger> moved_here(const std::string& path, const Boot& boot);

  /// Opens and checks. A missing or damaged file is replaced (a damaged one is kept beside it), and
  /// what can't be known counts as full for 24 h from now. Latches and wishes are those of every
  /// sound copy together; where the ledger may have lost some and there is no copy, that is itself
  /// a latch: `rules::RecordLost`. `notes()` says in sentences what a person should know.
  [[nodiscard]] static Stored<Ledger> open(const std::string& path,
                                           const std::vector<Beside>& stations, const Boot& boot);

  /// What was counted as full at the opening is in it, whatever the file can be made to say.
  [[nodiscard]] Stored<station::History> history(std::string_view station, const Boot& boot) const;

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
  [[nodiscard]] Stored<void> keep(std::string_view station, const station::DoseCycle& cycle);
  [[nodiscard]] Stored<void> forget_dose_cycles(std::string_view station);
  [[nodiscard]] Stored<void> keep(std::string_view station, const station::LearnedAnchor& learned);
  [[nodiscard]] Stored<void> keep(std::string_view station,
                                  const station::LearnedReference& learned);
  [[nodiscard]] Stored<void> keep(std::string_view station, const dosing::VolumeInForce& volume);
  [[nodiscard]] Stored<void> forget(std::string_view station, station::Wish::What what);
  [[nodiscard]] Stored<void> forget_usual_course(std::string_view station);

  [[nodiscard]] Stored<void> write(std::string_view station, const station::Entry& entry,
                                   WallTime now);

  /// From now on the last 24 h of this station count as full. `why` is one sentence for people.
  [[nodiscard]] Stored<void> presume_full(std::string_view station, const std::string& why,
                                          Moment now, station::Fate fate = station::Fate::presumed);

  /// Moves or sums up a few rows that no start needs any more, in one transaction: past.h.
  [[nodiscard]] Stored<Left> tidy(Moment now) const { return tidy_once(database_, stamp(now)); }

  /// What is to be known of a station outside the state directory, as the ledger stands.
  [[nodiscard]] Stored<Witness> witness_of(std::string_view station) const;

  [[nodiscard]] AlertStore alerts() const { return AlertStore{database_}; }
  /// Whether a row could be written now: writes one anew and syncs it.
  [[nodiscard]] Stored<void> prove_writable() const;

  /// What was found at opening and a person should know.
  [[nodiscard]] const std::vector<std::string>& notes() const { return notes_; }
  /// See station::History.
  [[nodiscard]] Duration lifetime_before_boot() const { return lifetime_before_boot_; }

 private:
  explicit Ledger(Database database) : database_(std::move(database)) {}
  [[nodiscard]] static Stored<Ledger> open_file(const std::string& path, Creating creating);
  [[nodiscard]] Stored<void> add_doses(std::string_view station, dosing::Stamp now,
                                       station::History& history) const;
  [[nodiscard]] Stored<void> add_wishes(std::string_view station, station::History& history) const;
  void note_newest(const PulseRow& row, const dosing::Dose& dose, station::History& history) const;
  [[nodiscard]] Stored<void> add_stirs(std::string_view station, station::History& history) const;
  [[nodiscard]] Stored<void> add_volumes(std::string_view station, station::History& history) const;
  [[nodiscard]] Stored<void> add_learned(std::string_view station, station::History& history) const;
  [[nodiscard]] Stored<void> settle(const std::vector<Beside>& stations, const Boot& boot);
  [[nodiscard]] Stored<void> know_boot(const Boot& boot, Duration lifetime_elsewhere);
  template <class Row>
  [[nodiscard]] Stored<std::string> drop_damaged(WallTime now);
  [[nodiscard]] Stored<Damage> drop_damaged_rows(WallTime now);
  [[nodiscard]] Stored<void> halve_without_anchor();
  [[nodiscard]] Stored<Doubts> doubts_of(const Beside& beside, const Damage& damage,
                                         const std::optional<std::int64_t>& known,
                                         std::int64_t newest, Moment now) const;
  [[nodiscard]] Stored<void> reconcile(const Beside& beside, const Damage& damage, Moment now);
  [[nodiscard]] Stored<void> take_on(const Beside& beside, const Doubts& doubts, Moment now);
  using Codes = std::vector<std::string>;
  [[nodiscard]] Stored<void> forget_release_notes(std::string_view station, const Codes& but);
  using Kept = station::SecondCopy::Kept;
  /// Of either: whether there was something that is not known here.
  [[nodiscard]] Stored<bool> take_on_kept(std::string_view station, const Kept& kept, Moment now);
  [[nodiscard]] Stored<bool> take_on_witness(const Beside& beside, const Doubts& doubts,
                                             Moment now);
  [[nodiscard]] Stored<std::string> know_home();
  [[nodiscard]] Stored<void> add_new(const std::vector<std::string>& stations, const Boot& boot,
                                     const std::string& dosed_lately, Prepared& prepared);
  [[nodiscard]] Stored<std::string> contradicts(const Beside& beside, std::int64_t newest) const;
  [[nodiscard]] Stored<bool> dosed_today(Moment now) const;
  [[nodiscard]] Stored<bool> misses_pulses(std::string_view station, std::int64_t whole_to,
                                           Moment now) const;
  [[nodiscard]] Stored<std::int64_t> newest_pulse(std::string_view station) const;
  [[nodiscard]] Stored<std::optional<std::int64_t>> whole_to(std::string_view station) const;
  [[nodiscard]] Stored<void> know_station(std::string_view station, std::int64_t whole_to,
                                          Moment now) const;
  [[nodiscard]] dosing::Stamp stamp(Moment now) const {
    return {now.mono.time_since_epoch() + lifetime_before_boot_, now.wall};
  }

  Database database_;
  LogState log_ = LogState::whole;  ///< before it was opened
  std::string boot_id_;
  Home home_;
  Duration lifetime_before_boot_{};
  std::map<std::string, dosing::Dose, std::less<>> presumed_;  ///< at this opening
  std::vector<std::string> notes_;
};

}  // namespace limegate::journal
