#pragma once

#include <string>
#include <vector>

namespace limegate::config {

/// One thing that is wrong with a file, and what is allowed there.
struct Problem {
  int line = 0;      ///< 0 where the file as a whole is meant
  std::string key;   ///< e.g. "station.reef.limits.ph_ceiling"
  std::string what;  ///< what is wrong and what is allowed, one sentence

  /// "file:line: key: what"
  [[nodiscard]] std::string to_string(const std::string& file) const;
};

using Problems = std::vector<Problem>;

}  // namespace limegate::config
