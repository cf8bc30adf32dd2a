#include "mqtt/input_image.h"

#include <string>

#include "mqtt/payload.h"

namespace limegate::mqtt {
namespace {

constexpr const char* kNode = "inputs";
constexpr const char* kQualityNode = "inputs-quality";

bool is_digital(const rules::InputShown& input) {
  return input.kind == rules::Input::Kind::digital;
}

std::string payload_of(const rules::InputShown& input) {
  return is_digital(input) ? boolean_text(*input.value > 0.5) : exact_number_text(*input.value);
}

}  // namespace

void describe_inputs(const std::vector<rules::InputShown>& inputs, const Paths& without,
                     nlohmann::ordered_json& nodes) {
  for (const rules::InputShown& input : inputs) {
    nlohmann::ordered_json property{{"name", "Input " + input.name},
                                    {"datatype", is_digital(input) ? "boolean" : "float"}};
    if (!input.unit.empty()) {
      property["unit"] = input.unit;
    }
    nodes[kQualityNode]["name"] = node_name(kQualityNode);
    nodes[kQualityNode]["properties"][input.name] = {
        {"name", "Quality of input " + input.name}, {"datatype", "enum"}, {"format", "good,bad"}};
    if (without.count(std::string{kNode} + "/" + input.name) == 0) {
      nodes[kNode]["name"] = node_name(kNode);
      nodes[kNode]["properties"][input.name] = property;
    }
  }
}

std::vector<Value> input_values(const std::vector<rules::InputShown>& inputs) {
  std::vector<Value> values;
  values.reserve(2 * inputs.size());
  for (const rules::InputShown& input : inputs) {
    values.push_back(
        {kNode, input.name, input.value ? std::optional{payload_of(input)} : std::nullopt});
    values.push_back({kQualityNode, input.name, input.value ? "good" : "bad"});
  }
  return values;
}

std::vector<Message> input_documents(const std::vector<rules::InputShown>& inputs,
                                     const Settings& settings, const Announced& device,
                                     const Paths& without) {
  std::vector<Message> documents;
  documents.reserve(2 * inputs.size());
  for (const rules::InputShown& input : inputs) {
    const std::string name = "Input " + input.name;
    const std::string quality = "Quality of input " + input.name;
    const char* const id = input.name.c_str();
    const Entity entity =
        is_digital(input) ? binary(name.c_str()) : sensor(name.c_str()).measured(-1);
    if (without.count(std::string{kNode} + "/" + input.name) == 0) {
      documents.push_back(document_of(
          settings, device,
          {kNode, id, input.unit.c_str(), "", false, entity.unless_bad(id), kQualityNode}));
    }
    documents.push_back(document_of(
        settings, device, {kQualityNode, id, "", "", false, sensor(quality.c_str()).diagnostic()}));
  }
  return documents;
}

std::string urgent_part(const std::vector<rules::InputShown>& inputs) {
  std::string text;
  for (const rules::InputShown& input : inputs) {
    text += !input.value ? "?," : is_digital(input) ? payload_of(input) + ',' : ",";
  }
  return text;
}

}  // namespace limegate::mqtt
