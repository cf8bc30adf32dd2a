#include "calculator/report.h"

#include <algorithm>
#include <cstdio>
#include <cstdlib>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

namespace limegate::calculator {
namespace {

std::string text_of(const Row& row) {
  if (const auto* words = std::get_if<std::string>(&row.value)) {
    return *words;
  }
  return fmt::format("{:.{}f}", std::get<double>(row.value), row.decimals);
}

void print_json(const std::vector<Row>& rows) {
  nlohmann::ordered_json object;
  for (const Row& row : rows) {
    if (const auto* words = std::get_if<std::string>(&row.value)) {
      object[row.key] = *words;
    } else {
      const std::string digits = fmt::format("{:.10g}", std::get<double>(row.value));
      object[row.key] = std::strtod(digits.c_str(), nullptr);
    }
  }
  fmt::print("{}\n", object.dump(2));
}

void print_table(const std::vector<Row>& rows) {
  std::size_t label_width = 0;
  std::size_t number_width = 0;
  for (const Row& row : rows) {
    label_width = std::max(label_width, row.label.size());
    if (std::holds_alternative<double>(row.value)) {
      number_width = std::max(number_width, text_of(row).size());
    }
  }
  for (const Row& row : rows) {
    const bool number = std::holds_alternative<double>(row.value);
    const std::string text = fmt::format("{:<{}}  {:>{}}", row.label, label_width, text_of(row),
                                         number ? number_width : 0);
    fmt::print("{}{}{}\n", text, row.unit.empty() ? "" : " ", row.unit);
  }
}

}  // namespace

void print(const std::vector<Row>& rows, Output output) {
  if (output == Output::json) {
    print_json(rows);
  } else {
    print_table(rows);
  }
}

int fail(std::string_view command, std::string_view sentence) {
  fmt::print(stderr, "limegate {}: {}\n", command, sentence);
  return 2;
}

int answer(std::string_view command, const Input<std::vector<Row>>& rows, Output output) {
  if (!rows) {
    return fail(command, rows.error());
  }
  print(*rows, output);
  return 0;
}

}  // namespace limegate::calculator
