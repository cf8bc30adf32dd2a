#include "config/words.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

namespace limegate::config {

std::string joined(const std::vector<std::string>& names) {
  return fmt::format("{}", fmt::join(names, ", "));
}

std::string meant(const std::string& key) {
  return "is not a key of this table; did you mean '" + key + "'?";
}

bool is_name(std::string_view name) {
  return !name.empty() && name.size() <= 40 &&
         name.find_first_not_of("abcdefghijklmnopqrstuvwxyz0123456789-") == std::string_view::npos;
}

}  // namespace limegate::config
