#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <tuple>
#include <utility>
#include <vector>

#include "journal/database.h"

namespace limegate::journal {

// How any row of ledger_rows.h is summed, written and read.

/// Feeds fields to a CRC-32 so that no two different rows of a table give the same bytes.
class RowSum {
 public:
  RowSum();
  ~RowSum();
  RowSum(const RowSum&) = delete;
  RowSum& operator=(const RowSum&) = delete;
  RowSum(RowSum&&) = delete;
  RowSum& operator=(RowSum&&) = delete;
  void add(const std::string& text);
  void add(std::int64_t value);
  void add(double value);
  void add(const std::optional<std::int64_t>& value);
  [[nodiscard]] std::int64_t value() const;

 private:
  struct Crc;
  std::unique_ptr<Crc> crc_;
};

/// Over all fields, key and value: a row that does not match was damaged on the disk.
template <class Row>
[[nodiscard]] std::int64_t checksum_of(Row row) {
  RowSum sum;
  std::apply([&](const auto&... field) { (sum.add(field), ...); }, row.fields());
  return sum.value();
}

/// A row as read, and whether its checksum fits.
template <class Row>
struct Checked {
  Row row;
  bool sound = false;
};

/// Reads the current row of a statement that `select` made; the checksum comes last.
template <class Row>
[[nodiscard]] Checked<Row> row_from(const Statement& statement) {
  Row row;
  int column = 0;
  std::apply([&](auto&... field) { (statement.read(column++, field), ...); }, row.fields());
  const bool sound = checksum_of(row) == statement.integer(column);
  return {std::move(row), sound};
}

/// SELECT of every column, with the checksum; `rest` begins with a space: " WHERE station = ?1".
template <class Row>
[[nodiscard]] std::unique_ptr<Statement> select(const Database& database,
                                                const std::string& rest = {}) {
  return database.prepare(std::string{"SELECT "} + Row::kColumns + ", checksum FROM " +
                          Row::kTable + rest);
}

/// All rows of a table, in whatever order.
template <class Row>
[[nodiscard]] Stored<std::vector<Checked<Row>>> all_rows(const Database& database) {
  std::vector<Checked<Row>> rows;
  const auto statement = select<Row>(database);
  auto more = statement->next();
  for (; more && *more; more = statement->next()) {
    rows.push_back(row_from<Row>(*statement));
  }
  return more ? Stored<std::vector<Checked<Row>>>{std::move(rows)} : tl::unexpected(more.error());
}

/// Inserts the row, or replaces the one with the same key.
template <class Row>
[[nodiscard]] Stored<void> store(const Database& database, Row row) {
  constexpr std::size_t fields = std::tuple_size_v<decltype(row.fields())>;
  std::string places;
  for (std::size_t i = 1; i <= fields + 1; ++i) {
    places += (i == 1 ? "?" : ", ?") + std::to_string(i);
  }
  const auto statement =
      database.prepare(std::string{"INSERT OR REPLACE INTO "} + Row::kTable + "(" + Row::kColumns +
                       ", checksum) VALUES(" + places + ")");
  const std::int64_t sum = checksum_of(row);
  return std::apply([&](const auto&... field) { return statement->bind(field..., sum).run(); },
                    row.fields());
}

}  // namespace limegate::journal
