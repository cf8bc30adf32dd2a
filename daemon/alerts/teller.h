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
  /// some are kept for what is news, and the last of them for what can't wait.
  struct Bounds {
    std::size_t soon, a_day;
  };
  static constexpr Bounds kUrgent{8, 28}, kUrgentAgain{6, 22}, kCalm{5, 18}, kCalmAgain{4, 12};

  struct Parts {
    std::function<std::string()> new_id;
    /// What an alert of this station costs by now, in a sentence; may be empty.
    std::function<std::string(const Record&)> cost;
  };
  explicit Teller(Parts parts) : parts_(std::move(parts)) {}

  /// When earlier messages went out. Where this life is behind them, that is now.
  void know(const std::vector<dosing::Stamp>& sent, const When& now);

  /// Once a second. What goes out is marked as told in the book.
  [[nodiscard]] std::optional<Message> tick(Book& book, const When& now);
  /// Outside of any bounds, because somebody asked for it.
  [[nodiscard]] Message test(const When& now) const;

 private:
  [[nodiscard]] bool may_go(const Bounds& bounds, const When& now) const;
  [[nodiscard]] Message::Item item_of(const Book& book, const Record& record) const;

  Parts parts_;
  std::deque<dosing::Stamp> sent_;  ///< of a day
  std::optional<dosing::Stamp> gathering_since_;
};

}  // namespace limegate::alerts
