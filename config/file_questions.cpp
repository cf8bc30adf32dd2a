// Files that are named and can't serve. `check` may run as anybody on any machine, so it asks.

#include <string>
#include <variant>
#include <vector>

#include <fmt/format.h>
#include <grp.h>
#include <pwd.h>
#include <sys/stat.h>
#include <unistd.h>

#include "config/question_rows.h"

namespace limegate::config::ask {
namespace {

/// Whether this user, who is not the one that asks, may read the file: by its owner, its group and
/// the user's groups. A directory on the way is not looked at.
bool may_read(const passwd& user, const struct stat& status) {
  if (status.st_uid == user.pw_uid) {
    return (status.st_mode & S_IRUSR) != 0;
  }
  int count = 64;
  std::vector<gid_t> groups(static_cast<std::size_t>(count));
  if (::getgrouplist(user.pw_name, user.pw_gid, groups.data(), &count) < 0) {
    return true;  // more groups than anybody has: nothing is known
  }
  groups.resize(static_cast<std::size_t>(count));
  for (const gid_t group : groups) {
    if (group == status.st_gid) {
      return (status.st_mode & S_IRGRP) != 0;
    }
  }
  return (status.st_mode & S_IROTH) != 0;
}

/// What is wrong with it; nothing where no file is named.
Sentence wrong_with(const std::string& path, const char* key, const char* service_user) {
  struct stat status {};
  if (path.empty()) {
    return std::nullopt;
  }
  if (::stat(path.c_str(), &status) != 0) {
    return fmt::format("{} {} is not there. Is its path right, and is this the machine?", key,
                       path);
  }
  if (!S_ISREG(status.st_mode)) {
    return fmt::format("{} {} is {}. Which file is meant?", key, path,
                       S_ISDIR(status.st_mode) ? "a directory" : "no file");
  }
  // NOLINTNEXTLINE(concurrency-mt-unsafe): a check asks before any thread begins
  const passwd* user = ::getpwnam(service_user);
  if (user != nullptr ? !may_read(*user, status) : ::access(path.c_str(), R_OK) != 0) {
    return fmt::format("{} {} can't be read by {}, as whom the service runs. Shall another do it?",
                       key, path, user != nullptr ? user->pw_name : "you");
  }
  return std::nullopt;
}

const std::string& ca_file_of(const alerts::Destination& destination) {
  static const std::string none;
  if (const auto* mail = std::get_if<alerts::Mail>(&destination.way)) {
    return mail->ca_file;
  }
  const auto* webhook = std::get_if<alerts::Webhook>(&destination.way);
  return webhook == nullptr ? none : webhook->ca_file;
}

}  // namespace

Sentence mqtt_files(const Config& config) {
  if (!config.mqtt) {
    return std::nullopt;
  }
  const auto* file = std::get_if<files::SecretFile>(&config.mqtt->password);
  const Sentence password =
      wrong_with(file == nullptr ? std::string{} : file->path, "password_file", "limegate");
  return password ? password : wrong_with(config.mqtt->ca_file, "ca_file", "limegate");
}

Sentence deliver_files(const Config& config) {
  if (!config.deliver) {
    return std::nullopt;
  }
  for (const alerts::Destination& destination : config.deliver->destinations) {
    if (auto wrong = wrong_with(ca_file_of(destination), "ca_file", "limegate-deliver")) {
      return destination.name + ": " + *wrong;
    }
  }
  return std::nullopt;
}

}  // namespace limegate::config::ask
