#include "app/output_file.h"

#include <filesystem>
#include <string_view>
#include <system_error>

#include <fmt/format.h>

namespace limegate::app {

std::string objection_to_output(const std::string& path, const char* ending,
                                const std::string& config) {
  if (path.empty()) {
    return {};
  }
  if (!path.ends_with(ending)) {
    return fmt::format("{}: end its name in {}, so that no other file is written over.", path,
                       ending);
  }
  std::error_code unknown;
  const bool there = std::filesystem::exists(path, unknown);
  if (there && !std::filesystem::is_regular_file(path, unknown)) {
    return path + ": it is no ordinary file. Name one that is new, or may be written over.";
  }
  return there && std::filesystem::equivalent(path, config, unknown)
             ? path + ": it is the config itself. Name another file."
             : std::string{};
}

std::string not_written(const std::string& path, const std::string& why) {
  return fmt::format(
      "{}: it can't be written ({}). Name a file in a folder that is there and has room.", path,
      why);
}

}  // namespace limegate::app
