#pragma once

#include <vector>

#include <nlohmann/json.hpp>

#include "mqtt/discovery.h"
#include "mqtt/image.h"
#include "rules/owner_rule.h"

namespace limegate::mqtt {

/// The inputs of the owner's rules, as properties of a station's node `inputs`. Which there are
/// stands in the config: they are the same ones for as long as the daemon runs. Pure.

/// Adds the node, if there is an input at all.
void describe_inputs(const std::vector<rules::InputShown>& inputs, nlohmann::ordered_json& nodes);
/// Of one of which nothing is known the payload is empty.
[[nodiscard]] std::vector<Value> input_values(const std::vector<rules::InputShown>& inputs);
[[nodiscard]] std::vector<Message> input_documents(const std::vector<rules::InputShown>& inputs,
                                                   const Settings& settings,
                                                   const Announced& device);
/// Those that are on or off, as one text to compare: such a change is told at once.
[[nodiscard]] std::string urgent_part(const std::vector<rules::InputShown>& inputs);

}  // namespace limegate::mqtt
