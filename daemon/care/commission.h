#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include <tl/expected.hpp>

#include "care/book.h"
#include "care/mixture.h"
#include "care/rate_runs.h"
#include "units/quantities.h"
#include "units/time.h"

namespace limegate::care {

/// The name of its kind of entry in the book.
inline constexpr std::string_view kStepEntry = "step";
/// Such an entry from its row: the step is its value, "done" or "skipped" its unit, and the kit is
/// the note. Errors: one sentence, as read_entry() has them.
[[nodiscard]] tl::expected<StepTaken, std::string> read_step(const Written& written);

struct StepShown {
  Step step;
  enum class State { open, next, done, skipped } state = State::open;
  std::optional<WallTime> at = {};  ///< when it was done or skipped
  std::string note = {};
};
[[nodiscard]] std::string_view name_of(StepShown::State state);

/// Every step, by a book in the order in which it was written: the newest entry of a step counts.
/// The first that was neither done nor skipped is next.
[[nodiscard]] std::vector<StepShown> steps_of(const Book& book);
/// Absent: none is left.
[[nodiscard]] std::optional<Step> next_of(const std::vector<StepShown>& steps);

/// Powder that the book tells of since the step before the charge. In g.
[[nodiscard]] double charged(const Book& book);
/// The pump's rate in each run that the book tells of since it was primed, the oldest first.
[[nodiscard]] std::vector<MillilitresPerMinute> runs_of(const Book& book);

/// What a station knows of itself, as far as steps hang on it.
struct StationSays {
  std::vector<std::string> holds;  ///< their codes
  bool pump_confirmed_off = false, stirrer_confirmed_off = false;
  bool reference_known = false;       ///< recorded, or in the file
  int course_days = 0;                ///< on which the usual course of the pH was seen
  std::optional<Duration> undosed{};  ///< since the last pulse; absent: there was none
  std::optional<MillilitresPerMinute> pump_rate{};  ///< of the file; absent: not known
};

/// Days without dosing that a reference needs, and that were seen so far.
struct ReferenceDays {
  static constexpr int kEnough = 3;  ///< as station/reference.h records it
  int seen = 0;
  /// The course was learned on days with doses, too: it must be learned anew.
  bool mixed = false;
  [[nodiscard]] bool enough() const { return !mixed && seen >= kEnough; }
};
[[nodiscard]] ReferenceDays reference_days(const StationSays& says);

/// Calcium and alkalinity that limewater may begin to maintain: within what reefs are kept at, and
/// tested within two weeks (common practice, CARE.md, section 3: 7 to 11 dKH, 380 to 450 mg/L).
/// What is lacking, and what to do; empty: nothing.
[[nodiscard]] std::string lacking_alkalinity(const Book& book, WallTime now);
[[nodiscard]] std::string lacking_calcium(const Book& book, WallTime now);
/// The limewater is not known to be clear: which holds say so; empty: it is.
[[nodiscard]] std::string not_clear(const std::vector<std::string>& holds);

/// Why a step can't be said to be done, by what the book and the station say, and what to do about
/// it. Empty: it can. What only a person can see is the person's word.
[[nodiscard]] std::string lacking(Step step, const Book& book, const StationSays& says,
                                  WallTime now);

}  // namespace limegate::care
