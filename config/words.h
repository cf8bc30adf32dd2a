#pragma once

#include <initializer_list>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace limegate::config {

/// The words that a key may have, and what each means.
template <class T>
using Words = std::initializer_list<std::pair<std::string_view, T>>;

template <class T>
[[nodiscard]] std::vector<std::string> names_of(Words<T> words) {
  std::vector<std::string> names;
  for (const auto& [name, value] : words) {
    names.emplace_back(name);
  }
  return names;
}

/// "one, other".
[[nodiscard]] std::string joined(const std::vector<std::string>& names);

/// What is said of a key that must be another one.
[[nodiscard]] std::string meant(const std::string& key);

/// A topic, a key and a file name can be made of it: a-z, 0-9 and '-', 40 characters at most.
[[nodiscard]] bool is_name(std::string_view name);

}  // namespace limegate::config
