#include "config/table_reader.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <utility>

#include <fmt/format.h>

#include "config/nearest.h"
#include "units/plain_number.h"
#include "units/shown_text.h"

namespace limegate::config {
namespace {

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

int TableReader::line_of(std::string_view key) const {
  if (absent_) {
    return absent_->line;
  }
  const toml::node* node = table_->get(key);
  return static_cast<int>(node != nullptr ? node->source().begin.line
                                          : table_->source().begin.line);
}

std::string TableReader::name_of(std::string_view key) const {
  return path_.empty() ? std::string{key} : path_ + "." + std::string{key};
}

void TableReader::complain(std::string_view key, const std::string& what) {
  Problems& problems = absent_ ? absent_->others : *problems_;
  problems.push_back({line_of(key), name_of(key), what});
}

bool TableReader::told_of(std::string_view key) const {
  const Problems& problems = absent_ ? absent_->others : *problems_;
  return std::any_of(problems.begin(), problems.end(),
                     [&](const Problem& problem) { return problem.key == name_of(key); });
}

bool TableReader::is_asked(const std::string& key) const {
  return std::find(asked_.begin(), asked_.end(), key) != asked_.end();
}

const toml::node* TableReader::node_of(std::string_view key) {
  if (const toml::node* node = table_->get(key)) {
    return node;
  }
  const auto known = std::find_if(slips_.begin(), slips_.end(),
                                  [&](const auto& slip) { return slip.second == key; });
  if (known != slips_.end()) {
    return table_->get(known->first);
  }
  constexpr std::size_t shortest = 3;  // "is" and "in" are no slips of each other
  for (const auto& [name, node] : *table_) {
    const std::string other{name.str()};
    if (key.size() >= shortest && !is_asked(other) && edit_distance(other, key) == 1) {
      slips_.emplace_back(other, key);
      asked_.push_back(other);
      complain(other, meant(std::string{key}));
      return &node;
    }
  }
  return nullptr;
}

const toml::node* TableReader::find(std::string_view key) {
  asked_.emplace_back(key);
  return node_of(key);
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

bool TableReader::has(std::string_view key) { return node_of(key) != nullptr; }

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
    complain(key, fmt::format("{} is outside {} to {}{}{}", *value, plain_number(bounds.low, 6),
                              plain_number(bounds.high, 6), *bounds.why == '\0' ? "" : ": ",
                              bounds.why));
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
  if (!shows_as_it_is(*value)) {
    complain(key,
             "must be one line, without control characters and without those that turn the "
             "direction of letters: it would be shown as something else");
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
    if (left_ || is_asked(name)) {
      continue;
    }
    const std::string near = nearest(name, asked_);
    complain(name, near.empty() ? "is not a key of this table; remove it" : meant(near));
    if (!near.empty() && !has(near)) {
      // Of a key that is misspelt this is said, and not that it is missing too.
      std::erase_if(*problems_, [&](const Problem& problem) {
        return problem.key == name_of(near) && problem.what.starts_with("is missing");
      });
    }
  }
}

}  // namespace limegate::config
