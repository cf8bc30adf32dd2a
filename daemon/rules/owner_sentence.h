#pragma once

#include <string>
#include <vector>

#include "rules/owner_rule.h"

namespace limegate::rules {

/// The whole rule in one sentence, as `check` reads it back: "Hold dosing when return-pump is off
/// for 10 s, or at once when nothing is known of it; ...".
[[nodiscard]] std::string sentence_of(const OwnerRule& rule, const std::vector<Input>& inputs);

/// Why it stands, with the numbers: "The rule return-pump-stopped holds: return-pump is off."
[[nodiscard]] std::string sentence_of(const OwnerRule& rule, const std::vector<Input>& inputs,
                                      const OwnerEvidence& evidence, const OwnerMemory& memory);

/// A value for people: "on", "18.4 cm".
[[nodiscard]] std::string value_for_people(const Input& input, double value);

}  // namespace limegate::rules
