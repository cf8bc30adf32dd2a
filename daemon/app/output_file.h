#pragma once

#include <string>

namespace limegate::app {

/// Why nothing may be written there: it is some other file, or no file at all, or its name does not
/// end so. One sentence; empty if it may.
[[nodiscard]] std::string objection_to_output(const std::string& path, const char* ending,
                                              const std::string& config);

/// A file that could not be written, in one sentence. `why` = as the system says it.
[[nodiscard]] std::string not_written(const std::string& path, const std::string& why);

}  // namespace limegate::app
