#include "care/book_reader.h"

#include <algorithm>
#include <array>
#include <cctype>
#include <charconv>
#include <cmath>
#include <optional>
#include <utility>

#include <fmt/format.h>

#include "chemistry/keeper_units.h"
#include "units/plain_number.h"
#include "units/rfc3339.h"

namespace limegate::care {
namespace {

using Fields = std::vector<std::string>;

/// In lower case and without blanks, as units and names are compared.
std::string plain(std::string_view text) {
  std::string result;
  for (const char c : text) {
    if (std::isspace(static_cast<unsigned char>(c)) == 0) {
      result += static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
    }
  }
  return result;
}

/// As it is shown again: what is no plain letter is a question mark, and not too long.
std::string shown(std::string_view text) {
  constexpr std::size_t most = 40;
  std::string result;
  for (const char c : text.substr(0, most)) {
    result += c >= ' ' && c <= '~' ? c : '?';
  }
  return result + (text.size() > most ? "..." : "");
}

std::string trimmed(std::string_view text) {
  const auto from = text.find_first_not_of(" \t");
  const auto to = text.find_last_not_of(" \t");
  return from == std::string_view::npos ? "" : std::string{text.substr(from, to - from + 1)};
}

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

struct Unit {
  std::string_view name;
  double factor;
};
/// What a row may tell of: its units, and what can be true of it in the first one of these.
struct Row {
  std::string_view what;
  std::vector<Unit> units;
  double lowest;
  double highest;
  std::string_view remedy;
  Entry::What (*make)(double value, const std::string& kit);
};

const std::vector<Unit>& alkalinity_units() {
  static const double meq = chemistry::to_dkh(MeqPerLitre{1.0}).count();
  static const double ppm = chemistry::to_dkh(chemistry::to_meq_per_litre(PpmCaco3{1.0})).count();
  static const std::vector<Unit> units{{"dKH", 1.0}, {"meq/L", meq},     {"mmol/L", meq},
                                       {"ppm", ppm}, {"ppm CaCO3", ppm}, {"mg/L CaCO3", ppm}};
  return units;
}

/// Bounds are past what any tank has, even one that nobody looked after (TRADE.md: 7 to 11 dKH, 380
/// to 450 mg/L calcium, 1250 to 1350 magnesium; common practice). What is within them is judged
/// beside the rest of the book, and volumes beside the tank, later (doubts.h).
const std::vector<Row>& rows() {
  static const std::vector<Unit> mass{{"mg/L", 1.0}, {"ppm", 1.0}};
  static const std::vector<Row> known{
      {"alkalinity", alkalinity_units(), 0.0, 60.0,
       "reef water has 7 to 11 dKH. Look for a slip by ten, or the wrong unit",
       [](double v, const std::string& kit) -> Entry::What {
         return AlkalinityTest{Dkh{v}, kit};
       }},
      {"calcium", mass, 150.0, 900.0,
       "reef water has 380 to 450 mg/L. Look for a slip by ten, or the wrong unit",
       [](double v, const std::string&) -> Entry::What { return CalciumTest{MgPerLitre{v}}; }},
      {"magnesium", mass, 500.0, 2500.0,
       "reef water has 1250 to 1350 mg/L. Look for a slip by ten, or the wrong unit",
       [](double v, const std::string&) -> Entry::What { return MagnesiumTest{MgPerLitre{v}}; }},
      {"limewater",
       {{"mL", 1.0}, {"L", 1000.0}},
       0.0,
       1e9,
       "what is given is not taken back. Write the volume of the 24 h that begin then",
       [](double v, const std::string&) -> Entry::What { return LimewaterGiven{Millilitres{v}}; }},
      {"water_change",
       {{"L", 1.0}, {"mL", 0.001}},
       0.0,
       1e6,
       "write how much of the tank's water was changed",
       [](double v, const std::string&) -> Entry::What { return WaterChange{Litres{v}}; }},
      {"new_water", alkalinity_units(), 0.0, 25.0,
       "write the alkalinity of the water that is put in. Look for a slip by ten",
       [](double v, const std::string&) -> Entry::What { return NewWater{Dkh{v}}; }},
      {"supplement",
       {{"meq", 1.0}, {"mmol", 1.0}},
       0.0,
       1e7,
       "write the alkalinity that it brought",
       [](double v, const std::string&) -> Entry::What {
         return Supplement{Milliequivalents{v}};
       }}};
  return known;
}

template <class List, class Name>
std::string names_of(const List& list, const Name& name) {
  std::string names;
  for (const auto& one : list) {
    names += fmt::format("{}{}", names.empty() ? "" : ", ", name(one));
  }
  return names;
}

std::optional<double> number_of(const std::string& text) {
  double value = 0.0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  const bool whole = end == text.data() + text.size();
  return error == std::errc{} && whole && std::isfinite(value) ? std::optional{value}
                                                               : std::nullopt;
}

tl::expected<double, std::string> value_of(const Row& row, const std::string& text,
                                           const std::string& unit) {
  const auto known = std::find_if(row.units.begin(), row.units.end(),
                                  [&](const Unit& one) { return plain(one.name) == plain(unit); });
  if (known == row.units.end()) {
    return tl::unexpected(
        fmt::format("{} {}. Not used: write one of {}", row.what,
                    unit.empty() ? "has no unit" : fmt::format("can't be in '{}'", shown(unit)),
                    names_of(row.units, [](const Unit& one) { return one.name; })));
  }
  const auto number = number_of(text);
  if (!number) {
    return tl::unexpected(
        fmt::format("{} '{}' is no number. Not used: write digits, with a point before decimals",
                    row.what, shown(text)));
  }
  const double value = *number * known->factor;
  if (!(value >= row.lowest && value <= row.highest)) {
    return tl::unexpected(fmt::format("{} of {} {} can't be true. Not used: {}", row.what,
                                      plain_number(*number, 6), known->name, row.remedy));
  }
  return value;
}

tl::expected<Entry, std::string> entry_of(const Fields& fields, std::size_t columns) {
  if (fields.size() < 4 || fields.size() > columns) {
    return tl::unexpected(
        fmt::format("has {} values where the header has {}. Not used: write time,what,value,unit",
                    fields.size(), columns));
  }
  const auto time = parse_rfc3339(fields[0]);
  if (!time) {
    return tl::unexpected(fmt::format(
        "'{}' is no time. Not used: write it as 2026-11-25T07:15:00Z, or with +01:00 in place of Z",
        shown(fields[0])));
  }
  const std::string what = plain(fields[1]);
  const auto row =
      std::find_if(rows().begin(), rows().end(), [&](const Row& one) { return one.what == what; });
  if (row == rows().end()) {
    return tl::unexpected(fmt::format("'{}' is not known here. Not used: write one of {}",
                                      shown(fields[1]),
                                      names_of(rows(), [](const Row& one) { return one.what; })));
  }
  const auto value = value_of(*row, fields[2], fields[3]);
  if (!value) {
    return tl::unexpected(value.error());
  }
  return Entry{*time, row->make(*value, fields.size() > 4 ? fields[4] : ""), 0};
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

tl::expected<ReadBook, std::string> read_book(std::string_view text) {
  constexpr std::string_view mark = "\xEF\xBB\xBF";  // of UTF-8, which some editors write
  if (text.substr(0, mark.size()) == mark) {
    text.remove_prefix(mark.size());
  }
  ReadBook read;
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
    if (columns == 0) {
      const auto found = columns_of(fields_of(row));
      if (!found) {
        return tl::unexpected(found.error());
      }
      columns = *found;
      continue;
    }
    auto entry = entry_of(fields_of(row), columns);
    if (!entry) {
      read.remarks.push_back({line, entry.error()});
      continue;
    }
    entry->line = line;
    read.book.entries.push_back(std::move(*entry));
  }
  if (columns == 0) {
    return tl::unexpected(std::string{"it is empty. Begin it with the line time,what,value,unit"});
  }
  std::stable_sort(read.book.entries.begin(), read.book.entries.end(),
                   [](const Entry& a, const Entry& b) { return a.at < b.at; });
  return read;
}

}  // namespace limegate::care
