#pragma once

#include <array>
#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "care/powder.h"
#include "units/quantities.h"
#include "units/time.h"

namespace limegate::care {

/// What a keeper does at reactor, pump and probes from time to time.
enum class Chore { refill, clean, calibrate, tube, rate, buffers, kit, electrode };
inline constexpr std::size_t kChores = 8;

/// For commands, records and topics: "refill", "clean". Stable.
[[nodiscard]] const char* name_of(Chore chore);
/// The word of the book that says it was done: "powder", "cleaned".
[[nodiscard]] std::string_view entry_of(Chore chore);

/// The newest entry of a chore.
struct Done {
  Duration ago;
  std::optional<Millilitres> given_since;  ///< limewater; absent: not known
};

/// What upkeep goes by.
struct UpkeepKnown {
  std::array<std::optional<Done>, kChores> newest;  ///< absent: nothing of it is in the book
  Duration known_for;                               ///< observed uptime since the station began
  std::optional<Millilitres> given_in_all;          ///< in that time; absent: not known
  MillilitresPerMinute pump_rate;
  std::optional<Powder> powder;
  /// What the probe showed above the newest test by hand, since it was calibrated.
  std::optional<PhChange> drift;
};

/// How a chore stands.
struct UpkeepItem {
  Chore chore;
  /// `not_known`: nothing in the book says when it was done, and nothing is wrong with that yet.
  enum class State { fine, due, not_known } state;
  std::optional<Duration> due_in;  ///< of what is fine and goes by time
  std::string sentence;
};
/// For records and screens: "fine", "due", "not-known".
[[nodiscard]] const char* name_of(UpkeepItem::State state);

/// Every chore, in the order of the enum. When each is due is common practice (CARE.md, sections 6
/// and 7): a refill once the powder may last for three days, or 14 days after the last where
/// nothing is known of it; cleaning and calibration 30 days; a tube 500 hours; a rate 90 days;
/// opened buffers 60 days, as pH 10 loses to the air; an opened kit 180; an electrode 365. What is
/// not in the book counts from when the station began, if it must be done on any station.
[[nodiscard]] std::vector<UpkeepItem> upkeep_of(const UpkeepKnown& known);

}  // namespace limegate::care
