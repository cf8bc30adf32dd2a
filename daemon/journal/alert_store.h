#pragma once

#include <string>
#include <vector>

#include "alerts/record.h"
#include "dosing/account.h"
#include "journal/database.h"

namespace limegate::journal {

/// The alerts of the ledger's file, and the newest messages about them.
/// Threads and errors: as Ledger.
class AlertStore {
 public:
  /// So many messages are kept; who fetches them looks every few seconds.
  static constexpr int kMessagesKept = 100;

  explicit AlertStore(const Database& database) : database_(database) {}

  struct Message {
    dosing::Stamp at;
    std::string event;  ///< a CloudEvent as JSON
  };
  struct Kept {
    std::vector<alerts::Record> records;
    std::vector<Message> messages;  ///< oldest first
  };
  [[nodiscard]] Stored<Kept> read() const;
  /// Replaces all records and adds these messages, in one transaction.
  [[nodiscard]] Stored<void> keep(const std::vector<alerts::Record>& records,
                                  const std::vector<Message>& messages) const;

 private:
  [[nodiscard]] Stored<void> write(const std::vector<alerts::Record>& records,
                                   const std::vector<Message>& messages) const;

  const Database& database_;
};

}  // namespace limegate::journal
