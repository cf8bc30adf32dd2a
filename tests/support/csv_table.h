#pragma once

#include <map>
#include <string>
#include <vector>

namespace limegate::testing {

/// One row of a reference table: the text under each column's name.
using CsvRow = std::map<std::string, std::string>;

/// Reads a reference table of tests/data: '#' lines name its source, the first other line its
/// columns. Fails the running test where the file is missing, so that no table is skipped silently.
std::vector<CsvRow> read_csv(const std::string& file_name);

/// The number in a column; fails the running test where there is none.
double number(const CsvRow& row, const std::string& column);

}  // namespace limegate::testing
