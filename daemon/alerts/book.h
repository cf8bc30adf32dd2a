#pragma once

#include <chrono>
#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "alerts/record.h"
#include "station/alert.h"
#include "station/records.h"

namespace limegate::alerts {

/// Every alert of the daemon and its stations, from its raise to its end.
/// Threads: one owner.   Memory: one record for each station and kind of the last week.
class Book {
 public:
  /// A shelf is never longer.
  static constexpr Duration kShelfMax = std::chrono::hours{7 * 24};

  /// `new_number` gives one that was never given before.
  explicit Book(std::function<std::string()> new_number) : new_number_(std::move(new_number)) {}

  /// What an earlier run kept. What stands is to be found again; what was raised in this run
  /// already is the same alert.
  void know(std::vector<Record> kept, const When& now);

  /// Begins, renews or ends what the event says.
  void take(const std::string& station, const station::Event& event, const When& now);

  /// Marks as seen, by id or (empty) all of this station; what waited for no more is over. Returns
  /// how many there were.
  std::size_t acknowledge(std::string_view station, std::string_view id, const Record::Seen& seen);
  /// Keeps an alert quiet for a time. Empty, or why not.
  [[nodiscard]] std::string shelve(std::string_view station, std::string_view id,
                                   const Record::Shelf& shelf);

  /// Time passes: shelves end, what was not found again is over, what is long over is forgotten.
  void tick(const When& now);

  /// What must be told now, in the order of urgency. `told` marks it as told.
  [[nodiscard]] std::vector<const Record*> due(const When& now) const;
  void told(const std::vector<std::string>& numbers, const When& now);
  /// Standing alerts of the same station that this one explains.
  [[nodiscard]] std::vector<const Record*> explained_by(const Record& cause) const;

  [[nodiscard]] static State state_of(const Record& record);
  /// As surfaces show them: what stands, and what returned unseen; oldest first.
  [[nodiscard]] std::vector<station::Alert> shown(std::string_view station) const;
  [[nodiscard]] const std::vector<Record>& records() const { return records_; }
  /// Whether anything is to be kept since this was asked last.
  [[nodiscard]] bool take_changed() { return std::exchange(changed_, false); }
  /// Whether something came to be owed since this was asked last: a crash must not lose it.
  [[nodiscard]] bool take_owed() { return std::exchange(owed_, false); }
  /// What was given to be kept was not: it is to be kept again.
  void not_kept() { changed_ = true; }

 private:
  [[nodiscard]] Record* find(std::string_view station, std::string_view id);
  [[nodiscard]] bool explained(const Record& record, const When& now) const;
  [[nodiscard]] bool is_due(const Record& record, const When& now) const;
  void raise(const std::string& station, const station::Event& event, const When& now);

  std::function<std::string()> new_number_;
  std::vector<Record> records_;
  std::vector<std::string> to_find_;  ///< numbers of an earlier run, not raised in this one
  std::optional<dosing::Stamp> known_at_;
  bool changed_ = false, owed_ = false;
};

}  // namespace limegate::alerts
