#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace limegate::config {

/// Inclusive bounds of a number, and why they are there (shown when a file passes them).
struct Bounds {
  double low;
  double high;
  const char* why = "";
};

/// A number that a file gives where it need not.
struct GivenNumber {
  std::string key;
  double value;
  double otherwise;  ///< what it is without
  Bounds bounds;
};

/// One key that a reader asked for, with what it takes: the loader's own word for the manual
/// (limegate.toml(5)), so that no list of keys stands beside the code that reads them.
struct AskedKey {
  enum class Kind {
    number,
    whole_number,
    text,
    word,
    words,
    flag,
    range,
    hours,
    time_of_day,
    date,
    table,
    tables
  };
  enum class Need { required, optional };

  std::string key;
  Kind kind;
  Need need = Need::optional;
  std::string table = {};                     ///< "station.limits"; empty: the top
  std::optional<double> low = {}, high = {};  ///< inclusive; of numbers
  std::string why = {};                       ///< of the bounds
  std::optional<std::string> otherwise = {};  ///< the default; of texts without quotes
  std::vector<std::string> words = {};        ///< what a word may be
};
using KeyList = std::vector<AskedKey>;

[[nodiscard]] inline AskedKey asked(std::string_view key, AskedKey::Kind kind,
                                    AskedKey::Need need = AskedKey::Need::optional) {
  return {std::string{key}, kind, need};
}
[[nodiscard]] inline AskedKey asked(std::string_view key, Bounds bounds,
                                    AskedKey::Need need = AskedKey::Need::optional) {
  AskedKey number = asked(key, AskedKey::Kind::number, need);
  number.low = bounds.low;
  number.high = bounds.high;
  number.why = bounds.why;
  return number;
}
[[nodiscard]] inline AskedKey asked(std::string_view key, std::int64_t low, std::int64_t high,
                                    AskedKey::Need need = AskedKey::Need::optional) {
  AskedKey number = asked(key, {static_cast<double>(low), static_cast<double>(high)}, need);
  number.kind = AskedKey::Kind::whole_number;
  return number;
}
[[nodiscard]] inline AskedKey with_default(AskedKey key, std::string otherwise) {
  key.otherwise = std::move(otherwise);
  return key;
}

}  // namespace limegate::config
