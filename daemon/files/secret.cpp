#include "files/secret.h"

#include <cstdlib>
#include <utility>

#include <sys/stat.h>

#include "files/regular.h"

namespace limegate::files {
namespace {

/// A key file given by mistake must not be sent anywhere.
constexpr std::size_t kSecretMax = 1024;

tl::expected<std::string, std::string> path_of(const SecretPlace& place) {
  if (const auto* file = std::get_if<SecretFile>(&place)) {
    return file->path;
  }
  const std::string& name = std::get<SecretCredential>(place).name;
  const char* directory = std::getenv("CREDENTIALS_DIRECTORY");  // NOLINT(concurrency-mt-unsafe)
  if (directory == nullptr) {
    return tl::unexpected("The credential '" + name +
                          "' can't be read: the service manager has passed none "
                          "(CREDENTIALS_DIRECTORY is not set)");
  }
  return std::string{directory} + "/" + name;
}

}  // namespace

tl::expected<Secret, std::string> read_secret(const SecretPlace& place, std::string_view what) {
  if (std::holds_alternative<std::monostate>(place)) {
    return Secret{};
  }
  const auto path = path_of(place);
  if (!path) {
    return tl::unexpected(path.error());
  }
  auto text = read_regular(*path, kSecretMax);
  if (!text) {
    return tl::unexpected(std::string{what} + " can't be read from " + *path + ": " + text.error());
  }
  Secret secret{std::move(*text), {}};
  while (!secret.text.empty() && (secret.text.back() == '\n' || secret.text.back() == '\r')) {
    secret.text.pop_back();
  }
  if (secret.text.empty()) {
    return tl::unexpected(std::string{what} + " can't be read from " + *path + ": it is empty");
  }
  struct stat status {};
  if (::stat(path->c_str(), &status) == 0 && (status.st_mode & (S_IROTH | S_IWOTH)) != 0) {
    secret.warning = std::string{what} + " in " + *path +
                     " can be read by everybody on this machine; chmod 600 it.";
  }
  return secret;
}

}  // namespace limegate::files
