#include "app/delivery_check.h"

#include <string>
#include <variant>

#include <sys/stat.h>
#include <unistd.h>

#include "files/secret.h"
#include "units/visitor.h"

namespace limegate::app {
namespace {

void look_at(const files::SecretPlace& place, const std::string& key, config::Problems& problems) {
  const auto* file = std::get_if<files::SecretFile>(&place);
  if (file == nullptr) {
    return;  // a credential is there only for the service
  }
  const auto secret = files::read_secret(place, "It");
  if (!secret) {
    problems.push_back({0, key, secret.error()});
  } else if (!secret->warning.empty()) {
    problems.push_back({0, key, secret->warning});
  }
}

void look_at(const alerts::Program& program, const std::string& key, config::Problems& problems) {
  struct stat status {};
  const bool file = ::stat(program.path.c_str(), &status) == 0 && S_ISREG(status.st_mode);
  if (!file || ::access(program.path.c_str(), X_OK) != 0) {
    problems.push_back(
        {0, key,
         program.path + (file ? " is not executable: chmod +x it" : " is no program here")});
  }
}

}  // namespace

config::Problems problems_of(const alerts::Delivery& delivery) {
  config::Problems problems;
  for (const alerts::Destination& one : delivery.destinations) {
    const std::string key = "deliver." + one.name + ".";
    std::visit(
        Visitor{[&](const alerts::Mail& mail) {
                  look_at(mail.password, key + "password_file", problems);
                },
                [&](const alerts::Webhook& webhook) {
                  look_at(webhook.token, key + "token_file", problems);
                },
                [&](const alerts::Program& program) { look_at(program, key + "path", problems); }},
        one.way);
  }
  return problems;
}

}  // namespace limegate::app
