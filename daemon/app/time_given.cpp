#include "app/time_given.h"

#include <fmt/format.h>

#include "units/rfc3339.h"

namespace limegate::app {

tl::expected<WallTime, std::string> time_given(const char* option, const std::string& text,
                                               WallTime otherwise) {
  if (text.empty()) {
    return otherwise;
  }
  if (const auto time = parse_rfc3339(text)) {
    return *time;
  }
  return tl::unexpected(fmt::format(
      "{} '{}' is no time from 2000 to 2199: write it as 2026-11-25T07:15:00Z, or with +01:00 in "
      "place of Z",
      option, text));
}

}  // namespace limegate::app
