#pragma once

#include <string_view>

#include "config/table_reader.h"
#include "files/secret.h"

namespace limegate::config {

/// Where a secret stands: a file, or a credential of the service, or nowhere. Of both it complains.
[[nodiscard]] files::SecretPlace read_secret(TableReader& reader, std::string_view file_key,
                                             std::string_view credential_key);

}  // namespace limegate::config
