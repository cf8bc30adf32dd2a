#pragma once

#include <cstddef>
#include <string>

#include <tl/expected.hpp>

namespace limegate::files {

/// The whole of a file that a person wrote, of at most so many bytes. Whatever a path may lead to
/// (a directory, a pipe that nobody writes to, a device without an end), it is refused at once.
/// Errors: why not: "it is a directory".
[[nodiscard]] tl::expected<std::string, std::string> read_regular(const std::string& path,
                                                                  std::size_t most);

}  // namespace limegate::files
