#include "config/secret_reader.h"

#include <string>

namespace limegate::config {

files::SecretPlace read_secret(TableReader& reader, std::string_view file_key,
                               std::string_view credential_key) {
  const auto file = reader.maybe_text(file_key);
  const auto credential = reader.maybe_text(credential_key);
  if (file && credential) {
    reader.complain(credential_key, "can't stand beside " + std::string{file_key} + ": choose one");
  }
  if (credential && credential->find('/') != std::string::npos) {
    reader.complain(credential_key, "is a credential's name, not a path");
  }
  return credential ? files::SecretPlace{files::SecretCredential{*credential}}
         : file     ? files::SecretPlace{files::SecretFile{*file}}
                    : files::SecretPlace{};
}

}  // namespace limegate::config
