#pragma once

#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "calculator/measure.h"

namespace limegate::calculator {

enum class Output { table, json };

/// One figure of an answer.
struct Row {
  std::string key;    ///< in JSON; stable
  std::string label;  ///< for people
  std::variant<double, std::string> value;
  std::string unit;  ///< for people; empty where there is none
  int decimals = 0;  ///< for people
};

/// Prints the figures to stdout: a table for people, or one JSON object. Numbers in JSON carry ten
/// significant digits, more than any constant here is known to.
void print(const std::vector<Row>& rows, Output output);

/// Prints what is wrong to stderr and returns the exit code for it, 2.
[[nodiscard]] int fail(std::string_view command, std::string_view sentence);

/// Prints the figures, or what is wrong; returns the exit code.
[[nodiscard]] int answer(std::string_view command, const Input<std::vector<Row>>& rows,
                         Output output);

}  // namespace limegate::calculator
