#include "mqtt/password.h"

#include <array>
#include <cstdlib>
#include <fstream>

#include <sys/stat.h>

namespace limegate::mqtt {
namespace {

/// MQTT's own limit is 65535 bytes; a key file given by mistake must not be sent to a broker.
constexpr std::size_t kPasswordMax = 1024;

tl::expected<std::string, std::string> place_of(const Settings& settings) {
  if (const auto* file = std::get_if<PasswordFile>(&settings.password)) {
    return file->path;
  }
  const std::string& name = std::get<PasswordCredential>(settings.password).name;
  const char* directory = std::getenv("CREDENTIALS_DIRECTORY");  // NOLINT(concurrency-mt-unsafe)
  if (directory == nullptr) {
    return tl::unexpected("The credential '" + name +
                          "' can't be read: the service manager has passed none "
                          "(CREDENTIALS_DIRECTORY is not set)");
  }
  return std::string{directory} + "/" + name;
}

}  // namespace

tl::expected<Password, std::string> read_password(const Settings& settings) {
  if (std::holds_alternative<std::monostate>(settings.password)) {
    return Password{};
  }
  const auto place = place_of(settings);
  if (!place) {
    return tl::unexpected(place.error());
  }
  std::ifstream file(*place, std::ios::binary);
  std::array<char, kPasswordMax + 1> bytes{};
  file.read(bytes.data(), bytes.size());
  const auto size = static_cast<std::size_t>(file.gcount());
  Password password{std::string{bytes.data(), size}, {}};
  while (!password.text.empty() && (password.text.back() == '\n' || password.text.back() == '\r')) {
    password.text.pop_back();
  }
  if (password.text.empty() || size > kPasswordMax) {
    return tl::unexpected("The password of the MQTT broker can't be read from " + *place +
                          (size > kPasswordMax ? ": it is longer than 1024 bytes"
                                               : ": there is none, or this user may not read it"));
  }
  struct stat status {};
  if (::stat(place->c_str(), &status) == 0 && (status.st_mode & (S_IROTH | S_IWOTH)) != 0) {
    password.warning =
        "Everybody on this machine can read the MQTT password in " + *place + "; chmod 600 it.";
  }
  return password;
}

}  // namespace limegate::mqtt
