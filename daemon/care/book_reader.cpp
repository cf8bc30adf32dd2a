#include "care/book_reader.h"

#include <algorithm>
#include <utility>

#include <fmt/format.h>

#include "units/csv_quoted.h"
#include "units/iso8601.h"
#include "units/rfc3339.h"

namespace limegate::care {
namespace {

using Fields = std::vector<std::string>;

/// The fields of a line; a field in quotes may hold commas, and two quotes there are one.
Fields fields_of(std::string_view line) {
  Fields fields;
  std::string field;
  bool quoted = false;
  for (std::size_t i = 0; i < line.size(); ++i) {
    const char c = line[i];
    if (c == '"') {
      const bool doubled = quoted && i + 1 < line.size() && line[i + 1] == '"';
      if (doubled) {
        field += c;
        ++i;
      } else {
        quoted = !quoted;
      }
    } else if (c == ',' && !quoted) {
      fields.push_back(trimmed(field));
      field.clear();
    } else {
      field += c;
    }
  }
  fields.push_back(trimmed(field));
  return fields;
}

ReadRow row_of(int line, const Fields& fields, std::size_t columns) {
  ReadRow row{line, {}, ""};
  if (fields.size() < 4 || fields.size() > columns) {
    row.wrong =
        fmt::format("has {} values where the header has {}. Not used: write time,what,value,unit",
                    fields.size(), columns);
    return row;
  }
  const auto time = parse_rfc3339(fields[0]);
  if (!time) {
    row.wrong = fmt::format(
        "'{}' is no time. Not used: write it as 2026-11-25T07:15:00Z, or with +01:00 in place of Z",
        shown(fields[0]));
    return row;
  }
  row.written = {*time, fields[1], fields[2], fields[3], fields.size() > 4 ? fields[4] : ""};
  return row;
}

/// How many columns it has. Error: it is no header of a book.
tl::expected<std::size_t, std::string> columns_of(const Fields& header) {
  std::vector<std::string> names;
  names.reserve(header.size());
  for (const std::string& name : header) {
    names.push_back(plain(name));
  }
  const std::vector<std::string> known{"time", "what", "value", "unit", "kit"};
  const bool sound = names.size() >= 4 && names.size() <= known.size() &&
                     std::equal(names.begin(), names.end(), known.begin());
  if (!sound) {
    return tl::unexpected(
        std::string{"its first line must be time,what,value,unit with commas between (a fifth "
                    "column may be kit)"});
  }
  return names.size();
}

}  // namespace

std::string Remark::sentence() const {
  return line > 0 ? fmt::format("line {}: {}", line, what) : what;
}

std::string csv_of(const std::vector<Written>& rows) {
  const auto field = [](const std::string& text) {
    return text.find_first_of(",\"") == std::string::npos ? text : csv_quoted(text);
  };
  std::string text = "time,what,value,unit,kit\n";
  for (const Written& row : rows) {
    text += fmt::format("{},{},{},{},{}\n", iso8601(row.at), row.what, row.value, row.unit,
                        field(row.kit));
  }
  return text;
}

tl::expected<std::vector<ReadRow>, std::string> read_rows(std::string_view text) {
  constexpr std::string_view mark = "\xEF\xBB\xBF";  // of UTF-8, which some editors write
  if (text.substr(0, mark.size()) == mark) {
    text.remove_prefix(mark.size());
  }
  std::vector<ReadRow> rows;
  std::size_t columns = 0;
  for (int line = 1; !text.empty(); ++line) {
    const auto end = text.find('\n');
    std::string_view row = text.substr(0, end);
    text.remove_prefix(end == std::string_view::npos ? text.size() : end + 1);
    if (!row.empty() && row.back() == '\r') {
      row.remove_suffix(1);
    }
    if (trimmed(row).empty() || trimmed(row).front() == '#') {
      continue;
    }
    if (columns > 0) {
      rows.push_back(row_of(line, fields_of(row), columns));
      continue;
    }
    const auto found = columns_of(fields_of(row));
    if (!found) {
      return tl::unexpected(found.error());
    }
    columns = *found;
  }
  if (columns == 0) {
    return tl::unexpected(std::string{"it is empty. Begin it with the line time,what,value,unit"});
  }
  return rows;
}

tl::expected<ReadBook, std::string> read_book(std::string_view text) {
  auto rows = read_rows(text);
  if (!rows) {
    return tl::unexpected(rows.error());
  }
  ReadBook read;
  for (ReadRow& row : *rows) {
    auto entry = row.wrong.empty() ? read_entry(row.written)
                                   : tl::expected<Entry, std::string>{tl::unexpected(row.wrong)};
    if (!entry) {
      read.remarks.push_back({row.line, entry.error()});
      continue;
    }
    entry->line = row.line;
    read.book.entries.push_back(std::move(*entry));
  }
  std::stable_sort(read.book.entries.begin(), read.book.entries.end(),
                   [](const Entry& a, const Entry& b) { return a.at < b.at; });
  return read;
}

}  // namespace limegate::care
