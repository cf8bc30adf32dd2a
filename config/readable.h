#pragma once

#include <optional>
#include <string>

#include <pwd.h>

namespace limegate::config {

/// What keeps this user from reading the file: the file itself, or the first directory on the way
/// to it that the user may not enter. By owner, group and mode of each; absent where nothing does,
/// and where nothing is known. Root may do everything. Blocks on the file system.
[[nodiscard]] std::optional<std::string> barrier_to(const std::string& file, const passwd& user);

}  // namespace limegate::config
