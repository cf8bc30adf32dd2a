#pragma once

#include <optional>

#include "care/course.h"
#include "care/mixture.h"

namespace limegate::care {

/// What the tests say of the tank.
struct Estimates {
  Mixture now;   ///< at `at`
  Mixture next;  ///< at the next test, if the present volume goes on and demand does not step
  std::size_t tests = 0;   ///< that were used
  double span_days = 0.0;  ///< from the first of them to the last
  bool doubtful = false;   ///< the newest is far from what was to be expected, or likely a slip
  WallTime best_next;      ///< when the level will be as uncertain as a test is: it then says most
};

/// From the alkalinity tests of the book up to `at`, half a year back. Absent with fewer than two
/// of them on different hours, or where nothing tells what was given. `next` is not before `at`.
[[nodiscard]] std::optional<Estimates> estimate(const Book& book, const Course& course, WallTime at,
                                                WallTime next);

}  // namespace limegate::care
