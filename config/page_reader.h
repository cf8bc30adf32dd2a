#pragma once

#include "config/table_reader.h"
#include "page/settings.h"

namespace limegate::config {

/// Reads [page].
[[nodiscard]] page::Settings read_page(TableReader& reader);

}  // namespace limegate::config
