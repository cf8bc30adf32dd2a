#pragma once

#include <map>
#include <string>

namespace limegate::test {

/// What the program's own tables say of what the manual tells, as lines of mdoc. A page has each
/// below a comment that names it:
///     .\" made from: key station.limits.ph_ceiling
///     A number from 7.5 to 8.6 (hard bound of the ceiling). Default 8.45. Since 0.1.0.
/// The names: "key TABLE.KEY" and the same as "limit TABLE.KEY", "hold CODE", "alert ID",
/// "question ID", "property station/NODE/ID", "property daemon/NODE/ID".
using Facts = std::map<std::string, std::string>;

/// Of every key that a config can have; without since when.
[[nodiscard]] Facts facts_of_keys();
[[nodiscard]] Facts facts_of_holds();
[[nodiscard]] Facts facts_of_alerts();
/// On what each question of `limegate check` is asked.
[[nodiscard]] Facts facts_of_questions();
[[nodiscard]] Facts facts_of_properties();

}  // namespace limegate::test
