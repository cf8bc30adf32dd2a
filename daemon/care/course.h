#pragma once

#include <vector>

#include "care/bank.h"
#include "care/book.h"
#include "care/site.h"
#include "care/supply.h"

namespace limegate::care {

/// What happened to the water between two moments, as the estimator takes it: from the book.
class Course {
 public:
  Course(const Book& book, const Site& site, WallTime at);

  [[nodiscard]] Stretch between(WallTime from, WallTime to) const;
  [[nodiscard]] const Supply& supply() const { return supply_; }

 private:
  /// Everything else that was mixed in, as a move without days.
  struct Mixed {
    WallTime at;
    Move move;
  };
  [[nodiscard]] std::vector<Move> moves(WallTime from, WallTime to) const;

  Site site_;
  Supply supply_;
  std::vector<Mixed> mixed_;
};

}  // namespace limegate::care
