#include "support/csv_table.h"

#include <fstream>
#include <limits>

#include <gtest/gtest.h>

#include "support/places.h"

namespace limegate::testing {
namespace {

std::vector<std::string> cells_of(const std::string& line) {
  std::vector<std::string> cells(1);
  bool quoted = false;
  for (const char c : line) {
    if (c == '"') {
      quoted = !quoted;
    } else if (c == ',' && !quoted) {
      cells.emplace_back();
    } else if (c != '\r') {
      cells.back() += c;
    }
  }
  return cells;
}

}  // namespace

std::vector<CsvRow> read_csv(const std::string& file_name) {
  std::ifstream file(test::data_dir() + "/" + file_name);
  EXPECT_TRUE(file.is_open()) << file_name;
  std::vector<std::string> columns;
  std::vector<CsvRow> rows;
  for (std::string line; std::getline(file, line);) {
    if (line.empty() || line.front() == '#') {
      continue;
    }
    const auto cells = cells_of(line);
    if (columns.empty()) {
      columns = cells;
      continue;
    }
    EXPECT_EQ(cells.size(), columns.size()) << file_name << ": " << line;
    CsvRow row;
    for (std::size_t i = 0; i < columns.size() && i < cells.size(); ++i) {
      row[columns[i]] = cells[i];
    }
    rows.push_back(row);
  }
  EXPECT_FALSE(rows.empty()) << file_name;
  return rows;
}

double number(const CsvRow& row, const std::string& column) {
  const auto cell = row.find(column);
  if (cell == row.end() || cell->second.empty()) {
    ADD_FAILURE() << "no number in column " << column;
    return std::numeric_limits<double>::quiet_NaN();
  }
  return std::stod(cell->second);
}

}  // namespace limegate::testing
