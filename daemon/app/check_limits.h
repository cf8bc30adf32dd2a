#pragma once

#include <string>

#include "config/config.h"

namespace limegate::app {

/// When dosing is held, each limit with its number; and which of them the file gives, which follow
/// from the site, and which stand at the bound that no file can pass.
[[nodiscard]] std::string limits_of(const config::Station& station);

}  // namespace limegate::app
