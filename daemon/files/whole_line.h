#pragma once

#include <optional>
#include <string>

namespace limegate::files {

/// A line of text with the CRC-32 of what stands before it.
[[nodiscard]] std::string with_sum(const std::string& body);

/// What stands before the sum; absent if the line is not whole.
[[nodiscard]] std::optional<std::string> body_of(const std::string& line);

/// Replaces a small file as a whole, or leaves it as it was: written beside it, synced and renamed,
/// and the directory synced too. Blocks. False if any of it failed.
[[nodiscard]] bool replace(const std::string& path, const std::string& text);

/// The whole file; absent if it can't be read.
[[nodiscard]] std::optional<std::string> read(const std::string& path);

}  // namespace limegate::files
