#pragma once

#include <array>
#include <optional>
#include <string>
#include <string_view>

namespace limegate::care {

/// The steps from an empty reactor to the half dose, in their order.
enum class Step {
  place,
  facts,
  charge,
  water,
  settle,
  prime,
  rate,
  probe,
  proof,
  tests,
  reference,
  half_dose
};
inline constexpr std::array kSteps{Step::place,  Step::facts, Step::charge,    Step::water,
                                   Step::settle, Step::prime, Step::rate,      Step::probe,
                                   Step::proof,  Step::tests, Step::reference, Step::half_dose};

/// As the book and the command line write it: "half-dose".
[[nodiscard]] std::string_view name_of(Step step);
/// Absent: there is none of that name.
[[nodiscard]] std::optional<Step> step_named(std::string_view name);

/// What the keeper says of a step: an entry of the book.
struct StepTaken {
  Step step;
  enum class How { done, skipped } how = How::done;
  std::string note = {};  ///< what came of it
};
[[nodiscard]] std::string_view name_of(StepTaken::How how);

}  // namespace limegate::care
