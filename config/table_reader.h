#pragma once

#include <chrono>
#include <cstddef>
#include <cstdint>
#include <initializer_list>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include <toml++/toml.h>

#include "config/asked_key.h"
#include "config/problem.h"
#include "config/words.h"
#include "units/time_of_day.h"

namespace limegate::config {

/// Reads one TOML table key by key, collects every problem instead of stopping at the first, and at
/// the end reports the keys that nobody asked for.
class TableReader {
 public:
  /// With `asked` every key that is asked for is noted there too.
  TableReader(const toml::table& table, std::string path, Problems& problems,
              KeyList* asked = nullptr);

  /// A site fact: must be there.
  double number(std::string_view key, Bounds bounds);
  /// A limit or an option: has a default.
  double number(std::string_view key, Bounds bounds, double otherwise);
  std::optional<double> maybe_number(std::string_view key, Bounds bounds);
  std::int64_t integer(std::string_view key, std::int64_t low, std::int64_t high);
  std::int64_t integer(std::string_view key, std::int64_t low, std::int64_t high,
                       std::int64_t otherwise);
  std::optional<std::int64_t> maybe_integer(std::string_view key, std::int64_t low,
                                            std::int64_t high);
  std::string text(std::string_view key);
  std::string text(std::string_view key, const std::string& otherwise);
  std::optional<std::string> maybe_text(std::string_view key);
  bool flag(std::string_view key, bool otherwise);
  /// Two numbers, [low, high], the second above the first.
  std::optional<std::pair<double, double>> maybe_range(std::string_view key, Bounds bounds);
  /// Hours of every day by the clock on the wall, as { from = 22:00:00, to = 06:30:00 }.
  std::optional<HoursOfDay> maybe_hours(std::string_view key);
  /// A time of the clock on the wall, as 08:00:00, since midnight.
  std::optional<Duration> maybe_time_of_day(std::string_view key);
  /// A day, as 2026-11-20; from 2000 on.
  std::optional<std::chrono::year_month_day> maybe_date(std::string_view key);

  /// One of some words; the first is the default.
  template <class T>
  T choice(std::string_view key, Words<T> words) {
    AskedKey word =
        with_default(asked(key, AskedKey::Kind::word), std::string{words.begin()->first});
    word.words = names_of(words);
    note(std::move(word));
    return chosen(key, words);
  }
  /// Without a default.
  template <class T>
  T needed_choice(std::string_view key, Words<T> words) {
    AskedKey word = asked(key, AskedKey::Kind::word, AskedKey::Need::required);
    word.words = names_of(words);
    note(std::move(word));
    if (!has(key)) {
      complain(key, "is missing; allowed: " + joined(names_of(words)));
    }
    return chosen(key, words);
  }

  /// The text as it stands, if there is one: the caller says what is wrong with any other word.
  std::optional<std::string> needed_word(std::string_view key,
                                         std::initializer_list<std::string_view> words);

  /// A list of some of these words; a word that is none of them is complained about, with the
  /// nearest.
  std::vector<std::string> maybe_words(std::string_view key, const std::vector<std::string>& words);

  /// A sub-table; an empty one stands in (and is complained about) if it is missing.
  TableReader table(std::string_view key);
  /// Whether it is there, if need be with a slip of one letter: that is told, and read as meant.
  bool has(std::string_view key);
  /// An array of tables, in file order; missing = empty. A misspelt name is told and read as meant.
  std::vector<TableReader> tables(std::string_view key);

  /// The key is known here, also where nothing is read from it.
  void knows(std::string_view key) { asked_.emplace_back(key); }
  void complain(std::string_view key, const std::string& what);
  /// Whether something was wrong with this key.
  [[nodiscard]] bool told_of(std::string_view key) const;
  /// A key that decides over the others can't be read: what else stands here is not judged.
  void leave() { left_ = true; }
  [[nodiscard]] bool left() const { return left_; }
  /// Reports every key that was not asked for, with the nearest one that could have been meant.
  void finish();

  /// The numbers with a default that the file gives all the same, so far.
  [[nodiscard]] const std::vector<GivenNumber>& given() const { return given_; }
  /// Of the whole file, so far.
  [[nodiscard]] std::size_t problem_count() const { return problems_->size(); }
  [[nodiscard]] const std::string& path() const { return path_; }
  void rename(std::string path) { path_ = std::move(path); }

 private:
  template <class T>
  T chosen(std::string_view key, Words<T> words) {
    const auto word = checked_text(key);
    for (const auto& [name, value] : words) {
      if (!word || *word == name) {
        return value;
      }
    }
    complain(key, "'" + *word + "' is not known here; allowed: " + joined(names_of(words)));
    return words.begin()->second;
  }

  /// Without a note.
  std::optional<double> checked_number(std::string_view key, Bounds bounds);
  std::optional<std::int64_t> checked_integer(std::string_view key, std::int64_t low,
                                              std::int64_t high);
  std::optional<std::string> checked_text(std::string_view key);
  /// How a key is asked for first is what is noted.
  void note(AskedKey key);
  TableReader below(std::string_view key, AskedKey::Kind kind, const toml::table& table,
                    std::string path);
  [[nodiscard]] std::string name_of(std::string_view key) const;
  [[nodiscard]] bool is_asked(const std::string& key) const;
  /// As it stands in the file, if need be with a slip.
  const toml::node* node_of(std::string_view key);
  const toml::node* find(std::string_view key);
  const toml::node* need(std::string_view key, const char* kind);
  [[nodiscard]] int line_of(std::string_view key) const;
  /// A table under a name like `key` that nobody knows: told, and read as if it had that name.
  const toml::node* misspelt(std::string_view key, toml::node_type type);

  const toml::table* table_;
  std::string path_;
  Problems* problems_;
  std::vector<std::string> asked_;
  std::vector<std::pair<std::string, std::string>> slips_;  ///< what stands there, what is meant
  bool left_ = false;
  KeyList* noted_;
  std::vector<std::string> told_;  ///< the keys of this table that are noted
  std::string table_name_;         ///< as AskedKey has it
  std::vector<GivenNumber> given_;
  /// Of a table that is not there: `finish` tells it once, where a key is needed, and nothing else.
  struct Absent {
    int line;                            ///< of the table it belongs in
    enum class Told { no, yes } told;    ///< that something else stands there
    std::vector<std::string> keys = {};  ///< that are needed
    Problems others = {};
  };
  std::optional<Absent> absent_;
};

}  // namespace limegate::config
