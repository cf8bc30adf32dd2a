#pragma once

#include <cstdint>
#include <optional>
#include <set>
#include <vector>

#include "care/powder.h"
#include "care/upkeep.h"
#include "dosing/account.h"
#include "station/effects.h"
#include "station/records.h"
#include "station/settings.h"
#include "units/quantities.h"
#include "units/time.h"

namespace limegate::station {

/// Knows by the keeper's book and by what was given which upkeep is due, and how much powder is
/// left, and tells what is due, and a commissioning that was left half way. It holds nothing.
/// Threads: one owner.   Errors: none.
class UpkeepWatch {
 public:
  explicit UpkeepWatch(const Settings& settings);

  struct Look {
    Moment now;
    dosing::Stamp today;
    const std::vector<BookEntry>& entries;
    std::int64_t changes;  ///< of the entries, so far
    std::optional<Millilitres> given_in_all;
    Millilitres per_day;     ///< as it is given at present
    Millilitres at_station;  ///< a day, as set there
  };
  /// Once a second: whether to look. When the book has changed, and every few minutes.
  [[nodiscard]] bool is_due(Instant now, std::int64_t changes) const;
  void look(const Look& look, Effects& effects);

  [[nodiscard]] const std::vector<care::UpkeepItem>& items() const { return items_; }
  /// Absent: no powder is in the book, or nobody knows what was given since.
  [[nodiscard]] const std::optional<care::Powder>& powder() const { return powder_; }

 private:
  void tell(Moment now, Effects& effects);
  void tell_of_commissioning(const Look& look, Effects& effects);

  care::Reactor reactor_;
  MillilitresPerMinute pump_rate_;
  std::vector<care::UpkeepItem> items_;
  std::optional<care::Powder> powder_;
  std::set<care::Chore> told_;
  bool commissioning_told_ = false;
  std::optional<Instant> looked_;
  std::int64_t changes_ = -1;
};

}  // namespace limegate::station
