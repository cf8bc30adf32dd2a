#pragma once

#include <vector>

#include "care/book_reader.h"
#include "care/site.h"

namespace limegate::care {

/// The entries of a book that may be used at `at`, and what a person should look at. Left out: what
/// is dated later (but for limewater, which is then a plan), tests from before the first limewater,
/// volumes that this tank can't have had, and limewater and alkalinity of which a digit too many or
/// too few was written, by what stands beside them. Used, and asked about: unusual levels, two
/// tests within an hour that differ by more than a kit does, two rows of the same limewater that
/// differ, and a change for water of which nobody told the alkalinity.
[[nodiscard]] ReadBook without_doubtful(const ReadBook& read, const Site& site, WallTime at);

}  // namespace limegate::care
