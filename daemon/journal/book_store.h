#pragma once

#include <string_view>
#include <vector>

#include "journal/database.h"
#include "station/records.h"

namespace limegate::journal {

/// The keepers' books in the ledger's file.
/// Threads and errors: as Ledger.
class BookStore {
 public:
  explicit BookStore(const Database& database) : database_(database) {}

  /// By number. What was damaged was dropped at the opening.
  [[nodiscard]] Stored<std::vector<station::BookEntry>> read(std::string_view station) const;
  /// In place of the entry of its number, if there is one. What is beyond the book's bound goes.
  [[nodiscard]] Stored<void> keep(std::string_view station, const station::BookEntry& entry) const;

 private:
  [[nodiscard]] Stored<void> add_beside(std::string_view station,
                                        std::vector<station::BookEntry>& entries) const;

  const Database& database_;
};

}  // namespace limegate::journal
