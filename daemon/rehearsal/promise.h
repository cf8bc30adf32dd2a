#pragma once

#include <array>
#include <chrono>
#include <cstddef>
#include <string>
#include <vector>

#include "rules/hold.h"
#include "units/time.h"

namespace limegate::rehearsal {

// Slacks that more than one judge goes by; they stand in words in the table of promises.
/// A stirrer may be late once, and by an hour.
constexpr Duration kRhythmSlack = std::chrono::hours{1};
/// A row of the ledger that takes longer was written by a slow disk.
constexpr Duration kSlowWrite = std::chrono::seconds{7};

/// What the judge holds a station to, whatever the program says of itself.
enum class Promise {
  settled,
  stirrer_heard,
  fresh,
  fresh_flowing,
  plausible,
  plausible_flowing,
  not_stuck,
  steady,
  calm,
  proven,
  agreeing,
  below_ceiling,
  ends_at_ceiling,
  second_ceiling,
  no_climb,
  climb_watched,
  no_foreign_climb,
  not_risen,
  alkalinity_bearable,
  effect_sound,
  latch_kept,
  hour,
  hour_by_chemistry,
  pulse_by_chemistry,
  day,
  day_plan,
  half_unconfirmed,
  window_share,
  attended_bounded,
  sent_once,
  counted_when_sent,
  flow_counted,
  pulse_short,
  whole_steps,
  outlet_off_first,
  quick_disk,
  stays_off,
  stays_paused,
  work_settles,
  owner_obeyed,
  silence_told,
  shortfall_told,
  latch_told,
  blind_told,
  outlet_told,
  stirrer_told,
  relay_told,
  temperature_told,
  disk_told,
  owner_told,
  goes_on,
  flow_explained,
  fault_bounded,
  count  ///< how many there are
};

/// One line of what is promised.
struct PromiseRow {
  Promise promise;
  const char* sentence;  ///< how it is said that it was broken
  const char* slack;     ///< what the judge allows beyond the limit, and why
  const char*
      broken_by;  ///< the break of mutation_check made for it; recorded.txt: which it caught
};
using PromiseTable = std::array<PromiseRow, static_cast<std::size_t>(Promise::count)>;
[[nodiscard]] const PromiseTable& promises();
[[nodiscard]] const PromiseRow& about(Promise promise);

/// The promise that a rule's hold keeps. A rule without one does not compile.
[[nodiscard]] Promise promise_of(const rules::Hold& hold);

/// What the judges found. Threads: one owner.
class Verdicts {
 public:
  void begin_second(Duration now) { now_ = now; }
  [[nodiscard]] Duration now() const { return now_; }
  /// `detail` = the numbers; empty: the sentence alone.
  void broken(Promise promise, const std::string& detail = {});
  /// One line for each time that a promise was broken; of each promise the first few.
  [[nodiscard]] const std::vector<std::string>& lines() const { return lines_; }

 private:
  Duration now_{};
  std::array<int, static_cast<std::size_t>(Promise::count)> times_{};
  std::vector<std::string> lines_;
};

}  // namespace limegate::rehearsal
