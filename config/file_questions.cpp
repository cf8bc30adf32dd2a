// Files that are named and can't serve. `check` may run as anybody on any machine, so it asks.

#include <string>
#include <variant>

#include <fmt/format.h>
#include <pwd.h>
#include <sys/stat.h>
#include <unistd.h>

#include "config/question_rows.h"
#include "config/readable.h"

namespace limegate::config::ask {
namespace {

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
  if (user == nullptr) {
    return ::access(path.c_str(), R_OK) == 0
               ? std::nullopt
               : Sentence{fmt::format("{} {} can't be read by you. Who shall?", key, path)};
  }
  const auto barrier = barrier_to(path, *user);
  if (!barrier) {
    return std::nullopt;
  }
  return *barrier == path
             ? fmt::format(
                   "{} {} can't be read by {}, as whom the service runs. Shall another do "
                   "it? Else: chgrp {} and chmod g+r",
                   key, path, user->pw_name, user->pw_name)
             : fmt::format(
                   "{} {} can't be reached by {}, as whom the service runs: it may not "
                   "enter {}. Shall the file lie elsewhere?",
                   key, path, user->pw_name, *barrier);
}

/// Of a secret that lies in a file; nothing where it is good, or a credential of the service.
Sentence wrong_with(const files::SecretPlace& place, const char* key, const char* service_user) {
  const auto* file = std::get_if<files::SecretFile>(&place);
  return wrong_with(file == nullptr ? std::string{} : file->path, key, service_user);
}

Sentence wrong_with(const alerts::Destination& destination) {
  constexpr const char* user = "limegate-deliver";
  Sentence secret, certificate;
  if (const auto* mail = std::get_if<alerts::Mail>(&destination.way)) {
    secret = wrong_with(mail->password, "password_file", user);
    certificate = wrong_with(mail->ca_file, "ca_file", user);
  } else if (const auto* webhook = std::get_if<alerts::Webhook>(&destination.way)) {
    secret = wrong_with(webhook->token, "token_file", user);
    certificate = wrong_with(webhook->ca_file, "ca_file", user);
  }
  return secret ? secret : certificate;
}

}  // namespace

Sentence mqtt_files(const Config& config) {
  if (!config.mqtt) {
    return std::nullopt;
  }
  const Sentence password = wrong_with(config.mqtt->password, "password_file", "limegate");
  return password ? password : wrong_with(config.mqtt->ca_file, "ca_file", "limegate");
}

Sentence page_files(const Config& config) {
  return config.page ? wrong_with(config.page->token, "token_file", "limegate") : std::nullopt;
}

Sentence deliver_files(const Config& config) {
  if (!config.deliver) {
    return std::nullopt;
  }
  for (const alerts::Destination& destination : config.deliver->destinations) {
    if (const Sentence wrong = wrong_with(destination)) {
      return destination.name + ": " + *wrong;
    }
  }
  return std::nullopt;
}

}  // namespace limegate::config::ask
