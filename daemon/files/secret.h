#pragma once

#include <string>
#include <string_view>
#include <variant>

#include <tl/expected.hpp>

namespace limegate::files {

/// Where a secret stands; never the secret itself.
struct SecretFile {
  std::string path;
};
/// Below $CREDENTIALS_DIRECTORY, as the service manager gives it.
struct SecretCredential {
  std::string name;
};
using SecretPlace = std::variant<std::monostate, SecretFile, SecretCredential>;

/// A secret as it was read, and what a person should know about where it stands.
struct Secret {
  std::string text;
  std::string warning;  ///< empty: none. It never holds the secret.
};

/// Reads it anew, so that a changed file serves the next connection. The end of its line is no part
/// of it. Nowhere: an empty one. `what` begins the sentences: "The password of the MQTT broker".
/// Blocks on the file system.
/// Errors: a sentence that names the place.
[[nodiscard]] tl::expected<Secret, std::string> read_secret(const SecretPlace& place,
                                                            std::string_view what);

}  // namespace limegate::files
