#pragma once

#include <vector>

#include <nlohmann/json.hpp>

#include "mqtt/discovery.h"
#include "mqtt/image.h"
#include "rules/owner_rule.h"

namespace limegate::mqtt {

/// The inputs of the owner's rules, as properties of a station's node `inputs`, and in a node
/// beside it whether each is known: what it was last stays, as a bad probe's value does. Which
/// there are stands in the config: they are the same ones for as long as the daemon runs. Pure.

/// Adds the nodes, if there is an input at all.
void describe_inputs(const std::vector<rules::InputShown>& inputs, const Paths& without,
                     nlohmann::ordered_json& nodes);
[[nodiscard]] std::vector<Value> input_values(const std::vector<rules::InputShown>& inputs);
[[nodiscard]] std::vector<Message> input_documents(const std::vector<rules::InputShown>& inputs,
                                                   const Settings& settings,
                                                   const Announced& device, const Paths& without);
/// Those that are on or off, as one text to compare: such a change is told at once.
[[nodiscard]] std::string urgent_part(const std::vector<rules::InputShown>& inputs);

}  // namespace limegate::mqtt
