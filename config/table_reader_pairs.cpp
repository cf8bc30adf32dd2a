// What takes more than one number or word: ranges, hours, times of the clock, days, lists.

#include <algorithm>
#include <chrono>

#include <fmt/format.h>

#include "config/nearest.h"
#include "config/table_reader.h"

namespace limegate::config {

using Kind = AskedKey::Kind;

std::optional<std::pair<double, double>> TableReader::maybe_range(std::string_view key,
                                                                  Bounds bounds) {
  AskedKey range = asked(key, bounds);
  range.kind = Kind::range;
  note(std::move(range));
  const toml::node* node = find(key);
  if (node == nullptr) {
    return std::nullopt;
  }
  const toml::array* pair = node->as_array();
  if (pair != nullptr && pair->size() == 2 && (*pair)[0].is_number() && (*pair)[1].is_number()) {
    const double low = (*pair)[0].value<double>().value_or(0);
    const double high = (*pair)[1].value<double>().value_or(0);
    // Written so that NaN fails it.
    if (low >= bounds.low && high <= bounds.high && low < high) {
      return std::pair{low, high};
    }
  }
  complain(key, fmt::format("must be two numbers, [low, high], from {} to {}, the second above the "
                            "first",
                            bounds.low, bounds.high));
  return std::nullopt;
}

std::vector<std::string> TableReader::maybe_words(std::string_view key,
                                                  const std::vector<std::string>& words) {
  AskedKey list = asked(key, Kind::words);
  list.words = words;
  note(std::move(list));
  std::vector<std::string> found;
  const toml::node* node = find(key);
  if (node == nullptr) {
    return found;
  }
  const toml::array* array = node->as_array();
  // An empty one, as it is left when the last answer goes, is of no type.
  const bool texts =
      array != nullptr && (array->empty() || array->is_homogeneous(toml::node_type::string));
  if (!texts) {
    complain(key, "must be a list of texts, as [\"" + words.front() + "\"]");
    return found;
  }
  for (const toml::node& element : *array) {
    const std::string word = element.value_or(std::string{});
    if (std::find(words.begin(), words.end(), word) != words.end()) {
      found.push_back(word);
      continue;
    }
    const std::string near = nearest(word, words);
    complain(key,
             "'" + word + "' is not known here; " +
                 (near.empty() ? "allowed: " + joined(words) : "did you mean '" + near + "'?"));
  }
  return found;
}

std::optional<HoursOfDay> TableReader::maybe_hours(std::string_view key) {
  note(asked(key, Kind::hours));
  const toml::node* node = find(key);
  if (node == nullptr) {
    return std::nullopt;
  }
  const auto written = [&](const char* part) -> std::optional<Duration> {
    const toml::table* table = node->as_table();
    const auto time = table == nullptr ? std::nullopt : (*table)[part].value_exact<toml::time>();
    if (!time) {
      return std::nullopt;
    }
    return std::chrono::hours{time->hour} + std::chrono::minutes{time->minute} +
           std::chrono::seconds{time->second};
  };
  const auto from = written("from");
  const auto to = written("to");
  if (!from || !to || *from == *to || node->as_table()->size() != 2) {
    complain(key,
             "must be written as { from = 22:00:00, to = 06:30:00 }, two different times of "
             "the local clock, without quotes");
    return std::nullopt;
  }
  return HoursOfDay{*from, *to};
}

std::optional<Duration> TableReader::maybe_time_of_day(std::string_view key) {
  note(asked(key, Kind::time_of_day));
  const toml::node* node = find(key);
  if (node == nullptr) {
    return std::nullopt;
  }
  const auto time = node->value_exact<toml::time>();
  if (!time) {
    complain(key, "must be a time of the local clock, as 08:00:00 without quotes");
    return std::nullopt;
  }
  return std::chrono::hours{time->hour} + std::chrono::minutes{time->minute};
}

std::optional<std::chrono::year_month_day> TableReader::maybe_date(std::string_view key) {
  note(asked(key, Kind::date));
  const toml::node* node = find(key);
  if (node == nullptr) {
    return std::nullopt;
  }
  const auto date = node->value_exact<toml::date>();
  if (!date || date->year < 2000 || date->year > 2099) {
    complain(key, "must be a day of this century, such as 2026-11-20, without quotes");
    return std::nullopt;
  }
  return std::chrono::year{date->year} / date->month / date->day;
}

}  // namespace limegate::config
