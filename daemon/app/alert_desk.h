#pragma once

#include <deque>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "alerts/book.h"
#include "alerts/command.h"
#include "alerts/teller.h"
#include "app/journal_worker.h"
#include "ports/clock.h"

namespace limegate::app {

/// Keeps the alerts of the daemon and its stations in the ledger's file, and has what must be told
/// ready for whoever delivers it. A message is given out once it is written down, so that a restart
/// neither loses nor repeats one; while nothing can be written, or the disk hangs, it is given out
/// for all that.
/// Threads: the loop thread.
class AlertDesk {
 public:
  struct Parts {
    const ports::Clock& clock;
    JournalWorker& journal;
    std::string source;  ///< of the messages: a URI reference
    /// What an alert costs by now, in a sentence; may be empty.
    std::function<std::string(const alerts::Record&)> cost;
    /// The ledger could not take them: it is closed, as after any error.
    std::function<void(const std::string& why)> ledger_failed;
    /// Each message as a CloudEvent, once it may be given out.
    std::function<void(const std::string& event)> give_out;
  };
  explicit AlertDesk(Parts parts);

  /// What the ledger kept, whenever it was opened.
  void know(const journal::AlertStore::Kept& kept, Duration lifetime_before_boot);

  void take(const std::string& station, const station::Event& event);
  /// Once a second.
  void tick();
  [[nodiscard]] station::Answer obey(const std::string& station, const alerts::Command& command,
                                     const alerts::Record::Seen& by);
  /// A test message by every way; its id.
  [[nodiscard]] std::string test();

  [[nodiscard]] std::vector<station::Alert> shown(const std::string& station) const {
    return book_.shown(station);
  }
  /// The newest messages, oldest first, each a CloudEvent in JSON: those that came after the one of
  /// this id, or all that are kept.
  [[nodiscard]] std::vector<std::string> messages_after(const std::string& id) const;
  /// The numbers of alerts that stand and that nobody has seen.
  [[nodiscard]] std::vector<std::string> unseen() const;
  /// How many stand, seen and shelved ones too.
  [[nodiscard]] std::size_t standing() const;

 private:
  [[nodiscard]] alerts::When now() const;
  void add(const alerts::Message& message);
  void give_out(const std::vector<journal::AlertStore::Message>& messages);
  void keep();

  Parts parts_;
  alerts::Book book_;
  alerts::Teller teller_;
  Duration lifetime_before_boot_{};
  std::deque<std::string> messages_;
  /// Not given to be written; being written and not yet given out; given out and not yet given to
  /// be written.
  std::vector<journal::AlertStore::Message> to_keep_, under_way_, given_unkept_;
  bool known_ = false;                    ///< the ledger was read
  std::optional<Instant> keeping_since_;  ///< a write is under way
  bool urgent_ = false;                   ///< somebody said something that must outlive a crash
  std::optional<Instant> next_try_;
};

}  // namespace limegate::app
