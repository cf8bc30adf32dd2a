#pragma once

#include <optional>
#include <string>
#include <vector>

#include "care/book_reader.h"
#include "care/mixture.h"
#include "care/powder.h"
#include "care/site.h"
#include "units/time.h"

namespace limegate::care {

/// What is asked, and when.
struct Asked {
  WallTime at;
  WallTime next_test;  ///< not before `at`
  /// Absent: the level that there is, if it is one of a reef (7 to 11 dKH), else the nearest of it.
  std::optional<Dkh> target = {};
  Duration within = std::chrono::hours{24 * 14};  ///< until the target is reached; above zero
};

/// What a second method must bring, because limewater may take no more than the evaporation's
/// place. Zero where limewater can do it all.
struct OtherMethod {
  Dkh alkalinity;      ///< a day
  MgPerLitre calcium;  ///< a day: as much as goes with it into a skeleton
  Percent share;       ///< of the demand
};

/// The answer. What can't be known is absent, and `asks` says why; nothing is ever NaN. Estimates
/// are in the unit of the member's name. Nothing is changed by it: it is advice.
struct Advice {
  std::size_t tests = 0;
  bool enough_tests = false;
  std::optional<Estimate> demand_dkh_per_day;
  std::optional<Estimate> hold_ml_per_day;      ///< limewater that holds the level, however much
  std::optional<Estimate> alkalinity_dkh;       ///< at `at`, as the kit in use reads
  std::optional<Estimate> next_alkalinity_dkh;  ///< what that kit will read at the next test
  std::optional<double> kit_sd_dkh;             ///< what its repeats differ by, as learned
  std::optional<Millilitres> present;           ///< limewater a day
  std::optional<Millilitres> next;              ///< limewater a day from now on
  Dkh most;                                     ///< what limewater can bring a day at the most
  std::optional<OtherMethod> other;
  std::optional<WallTime> best_next_test;  ///< when a test would say most
  std::optional<Powder> powder;            ///< absent: the book tells of none
  std::vector<std::string> asks;           ///< whole sentences
};

/// What dosing begins with a day, where nothing is known of the demand: half of the evaporation
/// (common practice), and what would raise the level by no more than it may, 0.5 dKH a day, if
/// nothing were consumed (CARE.md, section 10).
[[nodiscard]] Millilitres first_volume_of(const Site& site);

/// Advice from a book as it was read.
[[nodiscard]] Advice advise(const ReadBook& read, const Site& site, const Asked& asked);

}  // namespace limegate::care
