#include "config/table_reader.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <utility>

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "config/nearest.h"

namespace limegate::config {
namespace {

const toml::table& empty_table() {
  static const toml::table empty;
  return empty;
}

using Kind = AskedKey::Kind;
using Need = AskedKey::Need;

std::string kind_of(const toml::node& node) {
  if (node.is_string()) {
    return "a text";
  }
  if (node.is_number()) {
    return "a number";
  }
  if (node.is_boolean()) {
    return "true or false";
  }
  if (node.is_date() || node.is_time() || node.is_date_time()) {
    return node.is_time() ? "a time of the clock" : "a date";
  }
  return node.is_table() ? "a table" : "a list";
}

}  // namespace

bool is_name(std::string_view name) {
  return !name.empty() && name.size() <= 40 &&
         name.find_first_not_of("abcdefghijklmnopqrstuvwxyz0123456789-") == std::string_view::npos;
}

std::string Problem::to_string(const std::string& file) const {
  std::string place = file + ":";
  if (line > 0) {
    place += std::to_string(line) + ":";
  }
  return key.empty() ? place + " " + what : place + " " + key + ": " + what;
}

TableReader::TableReader(const toml::table& table, std::string path, Problems& problems,
                         KeyList* asked)
    : table_(&table),
      path_(std::move(path)),
      problems_(&problems),
      noted_(asked),
      table_name_(path_) {}

void TableReader::note(AskedKey key) {
  if (noted_ != nullptr && std::find(told_.begin(), told_.end(), key.key) == told_.end()) {
    told_.push_back(key.key);
    key.table = table_name_;
    noted_->push_back(std::move(key));
  }
}

std::string TableReader::joined(const std::vector<std::string>& names) {
  return fmt::format("{}", fmt::join(names, ", "));
}

int TableReader::line_of(std::string_view key) const {
  if (absent_) {
    return absent_->line;
  }
  const toml::node* node = table_->get(key);
  return static_cast<int>(node != nullptr ? node->source().begin.line
                                          : table_->source().begin.line);
}

void TableReader::complain(std::string_view key, const std::string& what) {
  const std::string name = path_.empty() ? std::string{key} : path_ + "." + std::string{key};
  Problems& problems = absent_ ? absent_->others : *problems_;
  problems.push_back({line_of(key), name, what});
}

const toml::node* TableReader::find(std::string_view key) {
  asked_.emplace_back(key);
  return table_->get(key);
}

const toml::node* TableReader::need(std::string_view key, const char* kind) {
  const toml::node* node = find(key);
  if (node == nullptr && absent_) {
    absent_->keys.emplace_back(key);
  } else if (node == nullptr) {
    complain(key, fmt::format("is missing; it is a fact only you know, so it has no default "
                              "(expected: {})",
                              kind));
  }
  return node;
}

bool TableReader::has(std::string_view key) const { return table_->get(key) != nullptr; }

std::optional<double> TableReader::checked_number(std::string_view key, Bounds bounds) {
  const toml::node* node = find(key);
  if (node == nullptr) {
    return std::nullopt;
  }
  const auto value = node->value<double>();
  if (!node->is_number() || !value) {
    complain(key, fmt::format("must be a number from {} to {}, not {}", bounds.low, bounds.high,
                              kind_of(*node)));
    return std::nullopt;
  }
  // Written so that NaN fails it.
  if (!(*value >= bounds.low && *value <= bounds.high)) {
    complain(key, fmt::format("{} is outside {:.6g} to {:.6g}{}{}", *value, bounds.low, bounds.high,
                              *bounds.why == '\0' ? "" : ": ", bounds.why));
    return std::nullopt;
  }
  return value;
}

std::optional<double> TableReader::maybe_number(std::string_view key, Bounds bounds) {
  note(asked(key, bounds));
  return checked_number(key, bounds);
}

double TableReader::number(std::string_view key, Bounds bounds) {
  note(asked(key, bounds, Need::required));
  if (!has(key)) {
    (void)need(key, "a number");
    return bounds.low;
  }
  return checked_number(key, bounds).value_or(bounds.low);
}

double TableReader::number(std::string_view key, Bounds bounds, double otherwise) {
  note(with_default(asked(key, bounds), fmt::format("{:.10g}", otherwise)));
  const auto value = checked_number(key, bounds);
  if (value) {
    given_.push_back({std::string{key}, *value, otherwise, bounds});
  }
  return value.value_or(otherwise);
}

std::optional<std::int64_t> TableReader::checked_integer(std::string_view key, std::int64_t low,
                                                         std::int64_t high) {
  const toml::node* node = find(key);
  if (node == nullptr) {
    return std::nullopt;
  }
  const auto value = node->value_exact<std::int64_t>();
  if (!value || *value < low || *value > high) {
    complain(key, fmt::format("must be a whole number from {} to {}", low, high));
    return std::nullopt;
  }
  return value;
}

std::optional<std::int64_t> TableReader::maybe_integer(std::string_view key, std::int64_t low,
                                                       std::int64_t high) {
  note(asked(key, low, high));
  return checked_integer(key, low, high);
}

std::int64_t TableReader::integer(std::string_view key, std::int64_t low, std::int64_t high) {
  note(asked(key, low, high, Need::required));
  if (!has(key)) {
    (void)need(key, "a whole number");
    return low;
  }
  return checked_integer(key, low, high).value_or(low);
}

std::int64_t TableReader::integer(std::string_view key, std::int64_t low, std::int64_t high,
                                  std::int64_t otherwise) {
  note(with_default(asked(key, low, high), std::to_string(otherwise)));
  return checked_integer(key, low, high).value_or(otherwise);
}

std::optional<std::string> TableReader::checked_text(std::string_view key) {
  const toml::node* node = find(key);
  if (node == nullptr) {
    return std::nullopt;
  }
  auto value = node->value_exact<std::string>();
  if (!value || value->empty()) {
    complain(key, fmt::format("must be a text that is not empty, not {}",
                              node->is_string() ? "an empty one" : kind_of(*node)));
    return std::nullopt;
  }
  return value;
}

std::optional<std::string> TableReader::maybe_text(std::string_view key) {
  note(asked(key, Kind::text));
  return checked_text(key);
}

std::string TableReader::text(std::string_view key) {
  note(asked(key, Kind::text, Need::required));
  if (!has(key)) {
    (void)need(key, "a text");
    return {};
  }
  return checked_text(key).value_or("");
}

std::string TableReader::text(std::string_view key, const std::string& otherwise) {
  note(with_default(asked(key, Kind::text), otherwise));
  return checked_text(key).value_or(otherwise);
}

std::optional<std::string> TableReader::needed_word(std::string_view key,
                                                    std::initializer_list<std::string_view> words) {
  AskedKey word = asked(key, Kind::word, Need::required);
  word.words.assign(words.begin(), words.end());
  note(std::move(word));
  return checked_text(key);
}

bool TableReader::flag(std::string_view key, bool otherwise) {
  note(with_default(asked(key, Kind::flag), otherwise ? "true" : "false"));
  const toml::node* node = find(key);
  if (node == nullptr) {
    return otherwise;
  }
  const auto value = node->value_exact<bool>();
  if (!value) {
    complain(key, fmt::format("must be true or false, not {}", kind_of(*node)));
  }
  return value.value_or(otherwise);
}

const toml::node* TableReader::misspelt(std::string_view key, toml::node_type type) {
  for (const auto& [name, node] : *table_) {
    const std::string other{name.str()};
    const bool known = std::find(asked_.begin(), asked_.end(), other) != asked_.end();
    const bool alike = node.is_table() ? type == toml::node_type::table
                                       : node.is_array() && type == toml::node_type::array;
    // One letter, however short the name: "ph" is no "plan".
    if (!known && alike && edit_distance(other, key) <= std::max<std::size_t>(1, key.size() / 4)) {
      asked_.push_back(other);
      complain(other, "is not a key of this table; did you mean '" + std::string{key} + "'?");
      return &node;
    }
  }
  return nullptr;
}

TableReader TableReader::table(std::string_view key) {
  const toml::node* node = find(key);
  if (node == nullptr) {
    node = misspelt(key, toml::node_type::table);
  }
  const std::string path = path_.empty() ? std::string{key} : path_ + "." + std::string{key};
  const bool there = node != nullptr && node->is_table();
  if (node != nullptr && !there) {
    complain(key, fmt::format("must be a table, written as [{}{}{}]", table_name_,
                              table_name_.empty() ? "" : ".", key));
  }
  TableReader reader = below(key, Kind::table, there ? *node->as_table() : empty_table(), path);
  if (!there) {
    using Told = Absent::Told;
    reader.absent_ = Absent{line_of(key), node == nullptr ? Told::no : Told::yes};
  }
  return reader;
}

TableReader TableReader::below(std::string_view key, AskedKey::Kind kind, const toml::table& table,
                               std::string path) {
  if (noted_ != nullptr) {
    AskedKey noted = asked(key, kind);
    noted.table = table_name_;
    noted_->push_back(std::move(noted));  // each, so that whoever reads the notes can count them
  }
  TableReader reader{table, std::move(path), *problems_, noted_};
  reader.table_name_ =
      table_name_.empty() ? std::string{key} : table_name_ + "." + std::string{key};
  return reader;
}

std::vector<TableReader> TableReader::tables(std::string_view key) {
  std::vector<TableReader> readers;
  const toml::node* node = find(key);
  if (node == nullptr) {
    node = misspelt(key, toml::node_type::array);
  }
  if (node == nullptr) {
    return readers;
  }
  const toml::array* array = node->as_array();
  if (array == nullptr || !array->is_homogeneous(toml::node_type::table)) {
    complain(key, "must be written as [[" + std::string{key} + "]], once for each");
    return readers;
  }
  // More is a file that something else wrote, and a complaint for each helps nobody.
  constexpr std::size_t most = 200;
  if (array->size() > most) {
    complain(key, fmt::format("stands {} times, and {} at most are read: take the others out",
                              array->size(), most));
    return readers;
  }
  for (const toml::node& element : *array) {
    readers.push_back(below(key, Kind::tables, *element.as_table(),
                            fmt::format("{}[{}]", key, readers.size() + 1)));
  }
  return readers;
}

void TableReader::finish() {
  if (absent_) {
    Absent absent = *std::exchange(absent_, std::nullopt);
    if (!absent.keys.empty() || absent.told == Absent::Told::yes) {
      absent.others.clear();
    }
    if (!absent.keys.empty() && absent.told == Absent::Told::no) {
      absent.others = {{absent.line, path_,
                        fmt::format("this table is missing. It is written as [{}], and needs {}",
                                    table_name_, joined(absent.keys))}};
    }
    problems_->insert(problems_->end(), absent.others.begin(), absent.others.end());
    return;
  }
  for (const auto& [key, node] : *table_) {
    const std::string name{key.str()};
    if (std::find(asked_.begin(), asked_.end(), name) != asked_.end()) {
      continue;
    }
    const std::string near = nearest(name, asked_);
    complain(name, near.empty() ? "is not a key of this table; remove it"
                                : "is not a key of this table; did you mean '" + near + "'?");
  }
}

}  // namespace limegate::config
