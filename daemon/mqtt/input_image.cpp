#include "mqtt/input_image.h"

#include <string>

#include "mqtt/payload.h"

namespace limegate::mqtt {
namespace {

constexpr const char* kNode = "inputs";

bool is_digital(const rules::InputShown& input) {
  return input.kind == rules::Input::Kind::digital;
}

std::string payload_of(const rules::InputShown& input) {
  if (!input.value) {
    return "";
  }
  return is_digital(input) ? boolean_text(*input.value > 0.5) : exact_number_text(*input.value);
}

}  // namespace

void describe_inputs(const std::vector<rules::InputShown>& inputs, nlohmann::ordered_json& nodes) {
  for (const rules::InputShown& input : inputs) {
    nlohmann::ordered_json property{{"name", "Input " + input.name},
                                    {"datatype", is_digital(input) ? "boolean" : "float"}};
    if (!input.unit.empty()) {
      property["unit"] = input.unit;
    }
    nodes[kNode]["properties"][input.name] = property;
  }
}

std::vector<Value> input_values(const std::vector<rules::InputShown>& inputs) {
  std::vector<Value> values;
  values.reserve(inputs.size());
  for (const rules::InputShown& input : inputs) {
    values.push_back({kNode, input.name, payload_of(input)});
  }
  return values;
}

std::vector<Message> input_documents(const std::vector<rules::InputShown>& inputs,
                                     const Settings& settings, const Announced& device) {
  std::vector<Message> documents;
  documents.reserve(inputs.size());
  for (const rules::InputShown& input : inputs) {
    const std::string name = "Input " + input.name;
    const Entity entity = is_digital(input) ? binary(name.c_str()).or_none()
                                            : sensor(name.c_str()).measured(-1).or_none();
    documents.push_back(document_of(
        settings, device, {kNode, input.name.c_str(), input.unit.c_str(), "", false, entity}));
  }
  return documents;
}

std::string urgent_part(const std::vector<rules::InputShown>& inputs) {
  std::string text;
  for (const rules::InputShown& input : inputs) {
    text += is_digital(input) ? payload_of(input) + ',' : "";
  }
  return text;
}

}  // namespace limegate::mqtt
