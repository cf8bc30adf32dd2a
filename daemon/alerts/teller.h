#pragma once

#include <deque>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "alerts/book.h"
#include "alerts/message.h"

namespace limegate::alerts {

/// Decides when a message goes out and what it groups, so that few come and each is worth reading:
/// what becomes due within a short while goes together, and no flood of any kind passes its bounds.
/// What they hold back goes in a later one.
/// Threads: one owner.
class Teller {
 public:
  /// Fewer than 10 in 10 minutes and 30 a day (IEC 62682 calls more than 10 in 10 minutes a flood);
  /// the last of them are kept for what can't wait, and of those for what was never told.
  static constexpr std::size_t kMostSoon = 8, kMostSoonAgain = 7, kMostSoonCalm = 5;
  static constexpr std::size_t kMostADay = 28, kMostADayAgain = 23, kMostADayCalm = 18;

  struct Parts {
    std::function<std::string()> new_id;
    /// What an alert of this station costs by now, in a sentence; may be empty.
    std::function<std::string(const Record&)> cost;
  };
  explicit Teller(Parts parts) : parts_(std::move(parts)) {}

  /// When earlier messages went out.
  void know(const std::vector<dosing::Stamp>& sent) { sent_.assign(sent.begin(), sent.end()); }

  /// Once a second. What goes out is marked as told in the book.
  [[nodiscard]] std::optional<Message> tick(Book& book, const When& now);
  /// Outside of any bounds, because somebody asked for it.
  [[nodiscard]] Message test(const When& now) const;

 private:
  [[nodiscard]] bool may_go(const std::vector<const Record*>& due, const When& now) const;
  [[nodiscard]] Message::Item item_of(const Book& book, const Record& record) const;

  Parts parts_;
  std::deque<dosing::Stamp> sent_;  ///< of a day
  std::optional<dosing::Stamp> gathering_since_;
};

}  // namespace limegate::alerts
