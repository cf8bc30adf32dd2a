#pragma once

#include <string>
#include <variant>

#include <tl/expected.hpp>

#include "mqtt/settings.h"

namespace limegate::mqtt {

/// A password as it was read, and what a person should know about where it stands.
struct Password {
  std::string text;
  std::string warning;  ///< empty: none. It never holds the password.
};

/// Reads the password anew, so that a changed file serves the next connection. The end of its line
/// is no part of it. Blocks on the file system.
/// Errors: a sentence that names the place.
[[nodiscard]] tl::expected<Password, std::string> read_password(const Settings& settings);

}  // namespace limegate::mqtt
