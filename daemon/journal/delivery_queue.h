#pragma once

#include <cstdint>
#include <deque>
#include <optional>
#include <string>
#include <vector>

#include "alerts/record.h"
#include "journal/database.h"
#include "units/time.h"

namespace limegate::journal {

/// Messages that wait for their destinations, on disk: SQLite, each change synced in full. A
/// message is known by its id for a month, so that one that comes again is no new one. What the
/// disk does not take (it is full, read-only, broken) is kept in memory and brought all the same:
/// the disk that fails is what people must hear of. Threads: one.   Errors: values, and what was
/// asked holds in memory until `settle`; after `damaged` the file is set aside and begun anew.
class DeliveryQueue {
 public:
  /// So many wait for one destination; then the oldest are given up, and that is said.
  static constexpr std::int64_t kWaitingMax = 500;

  [[nodiscard]] static Stored<DeliveryQueue> open(const std::string& path);

  /// Adds a message for all of these. False: it is known already.
  [[nodiscard]] Stored<bool> add(const std::string& id, const std::string& event,
                                 const std::vector<std::string>& destinations, WallTime now);
  struct Waiting {
    std::int64_t number = 0;  ///< in the order of their coming
    std::string id, event;
    WallTime came;
    int attempts = 0;
  };
  /// The one that waits longest for this destination.
  [[nodiscard]] std::optional<Waiting> next(const std::string& destination) const;
  /// Whether a message with this text in it (the number of an alert) reached this destination.
  [[nodiscard]] bool has_delivered(const std::string& destination, const std::string& text) const;
  [[nodiscard]] Stored<std::int64_t> count_waiting(const std::string& destination) const;

  enum class End { delivered = 1, not_needed = 2, given_up = 3 };
  [[nodiscard]] Stored<void> note_attempt(const Waiting& what, const std::string& destination,
                                          const std::string& sentence);
  [[nodiscard]] Stored<void> end(const Waiting& what, const std::string& destination, End end,
                                 const std::string& sentence);
  /// What a destination that is configured no more still waits for is given up.
  [[nodiscard]] Stored<void> keep_only(const std::vector<std::string>& destinations);
  /// The newest stay, as many as the daemon may have and more: it is asked for what came after.
  [[nodiscard]] Stored<void> forget_before(WallTime time);

  /// What came of a message, for people: "mail: delivered, taken by ...", a line a destination.
  [[nodiscard]] static std::vector<std::string> outcome_of(const std::string& path,
                                                           const std::string& id);

  /// Writes down what could not be written before.
  [[nodiscard]] Stored<void> settle();
  [[nodiscard]] bool settled() const { return unwritten_.empty() && ended_.empty(); }

  /// Of what delivery itself raises.
  [[nodiscard]] Stored<void> keep(const std::vector<alerts::Record>& own);
  [[nodiscard]] Stored<std::vector<alerts::Record>> own() const;
  [[nodiscard]] Stored<std::string> newest_id() const;

 private:
  explicit DeliveryQueue(Database database) : database_(std::move(database)) {}
  /// What became of a message at a destination, beside the disk. `number` of one that is only in
  /// memory: 0.
  struct Outcome {
    Waiting what;
    std::string destination, sentence;
    End end = End::delivered;
  };
  struct Unwritten {
    Waiting what;
    std::vector<std::string> destinations;
  };
  [[nodiscard]] Stored<bool> write(const std::string& id, const std::string& event,
                                   const std::vector<std::string>& destinations,
                                   WallTime now) const;
  [[nodiscard]] Stored<void> write(const Outcome& outcome) const;
  [[nodiscard]] bool is_ended(const std::string& id, const std::string& destination) const;

  Database database_;
  std::deque<Unwritten> unwritten_;  ///< oldest first
  std::deque<Outcome> ended_;        ///< not written yet
};

}  // namespace limegate::journal
