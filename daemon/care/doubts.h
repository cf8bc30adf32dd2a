#pragma once

#include <string>
#include <vector>

#include "care/book_reader.h"
#include "care/site.h"

namespace limegate::care {

/// Why this entry alone can't be true of so much water; empty: it can.
[[nodiscard]] std::string objection_to(const Entry& entry, Litres water);

/// What is odd about a new test beside those of the same kind before and after it (null: there is
/// none), as one sentence: a digit too many or too few, a leap, two tests at once that differ, a
/// level that no reef has. Empty: nothing.
[[nodiscard]] std::string doubt_about(const Entry& entry, const Entry* before, const Entry* after);

/// The entries of a book that may be used at `at`, and what a person should look at. Left out: what
/// is dated later (but for limewater, which is then a plan), tests from before the first limewater,
/// volumes that this tank can't have had, and limewater and alkalinity of which a digit too many or
/// too few was written, by what stands beside them. Used, and asked about: unusual levels, two
/// tests within an hour that differ by more than a kit does, two rows of the same limewater that
/// differ, and a change for water of which nobody told the alkalinity.
[[nodiscard]] ReadBook without_doubtful(const ReadBook& read, const Site& site, WallTime at);

}  // namespace limegate::care
