#pragma once

#include <cstdint>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "care/book.h"
#include "dosing/account.h"
#include "rules/snapshot.h"
#include "station/command.h"
#include "station/effects.h"
#include "station/records.h"
#include "units/quantities.h"
#include "units/time.h"

namespace limegate::station {

/// The keeper's book of one station: what was tested by hand, and everything that a person did to
/// its water, reactor, pump or probe. Each entry is judged before it is in: what can't be true is
/// refused, what is odd is asked back once.   Threads: one owner.   Errors: sentences.
class KeepersBook {
 public:
  /// So many entries are kept, years of a diligent keeper. The oldest goes when there is another,
  /// but none that is the newest of its kind and stands, and no step of commissioning.
  static constexpr std::size_t kEntriesMost = 5000;

  KeepersBook(Litres water, Millimetres bore, std::vector<BookEntry> known);

  struct Moments {
    Moment now;
    dosing::Stamp today;
  };
  /// What the station knows beside it, and is kept with the entry.
  struct Beside {
    std::optional<Millilitres> given_in_all = {};
    std::optional<Ph> ph = {};
    double powder_g = 0.0;  ///< that may still be in the reactor, at the most; not kept
  };
  [[nodiscard]] Answer write(Moments at, const Beside& beside, const WriteEntry& what,
                             Effects& effects);
  [[nodiscard]] Answer undo(WallTime now, const UndoEntry& what, Effects& effects);
  /// It is on the disk.
  void durable(std::int64_t number) { unwritten_.erase(number); }
  /// The ledger was read again and says this: what it lacks is to be written.
  void recount(const std::vector<BookEntry>& kept);
  /// What is not on the disk is written again, some each second: the ledger could not be written
  /// meanwhile.
  void store() { again_ = unwritten_; }

  /// The newest test of alkalinity that stands: one that was written as it was made is newer than
  /// all before it, whatever a clock said then. Absent: there is none.
  struct Tested {
    Dkh level;
    WallTime at;
    dosing::Stamp entered;
    std::int64_t number;
  };
  [[nodiscard]] const std::optional<Tested>& newest_alkalinity() const { return newest_; }
  /// The same with its age, the larger one by both clocks. Nobody knows it while the wall clock is
  /// not set.
  [[nodiscard]] std::optional<rules::TestedAlkalinity> alkalinity(Moments at) const;
  /// Once a second: an alkalinity that is too low, and a test that is too old, are told.
  void step(Moment now, const std::optional<rules::TestedAlkalinity>& alkalinity,
            Duration counts_for, Effects& effects);

  /// By number, those that were taken back too.
  [[nodiscard]] const std::vector<BookEntry>& entries() const { return entries_; }
  /// So often they have changed.
  [[nodiscard]] std::int64_t changes() const { return changes_; }
  [[nodiscard]] bool is_durable(std::int64_t number) const { return unwritten_.count(number) == 0; }

 private:
  /// Why it is refused, or asked back; empty: it is not.
  [[nodiscard]] std::string refusal_of(const care::Entry& entry, const care::Written& row,
                                       WallTime now) const;
  [[nodiscard]] std::string question_about(const care::Entry& entry, const care::Written& row,
                                           const Beside& beside) const;
  void keep(BookEntry entry, Effects& effects);
  void drop_oldest();
  void write_again(Effects& effects);
  void find_newest();

  Litres water_;
  Millimetres bore_;
  std::vector<BookEntry> entries_;
  std::optional<Tested> newest_;
  bool low_told_ = false, old_told_ = false;
  std::int64_t changes_ = 0;
  std::set<std::int64_t> unwritten_;  ///< of what was written in this run
  std::set<std::int64_t> again_;      ///< of those: still to be handed to the ledger anew
};

}  // namespace limegate::station
