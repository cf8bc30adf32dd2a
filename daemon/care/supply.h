#pragma once

#include <vector>

#include "care/book.h"

namespace limegate::care {

/// Limewater over time, from rows that each tell of 24 h. What is unknown is never zero: hours that
/// no row tells of are taken for the mean of the rows beside them, and known to half of that; the
/// day after the last row to a tenth, for its row is yet to be written; before the first row only
/// to all of it. From `at` on, where no row tells otherwise, the volume
/// of then goes on: what is foretold is foretold of that.
/// Hours that two rows tell of had the mean of both.
class Supply {
 public:
  Supply(const Book& book, WallTime at);

  struct Given {
    Millilitres volume;
    Millilitres sd;       ///< of that
    double unknown_days;  ///< of which no row tells
  };
  /// Within `from` .. `to`, which is not earlier.
  [[nodiscard]] Given between(WallTime from, WallTime to) const;
  /// A day, at that moment; nothing before the first row, and where it is empty.
  [[nodiscard]] Millilitres at(WallTime when) const;
  /// A day, at the `at` of the constructor.
  [[nodiscard]] Millilitres present() const { return present_; }
  [[nodiscard]] bool empty() const { return pieces_.empty(); }

 private:
  /// Of one volume a day.
  struct Piece {
    WallTime from;
    Millilitres per_day;
    double sd;  ///< as a share
  };
  std::vector<Piece> pieces_;  ///< each up to the next; the last for ever
  Millilitres present_;
};

}  // namespace limegate::care
