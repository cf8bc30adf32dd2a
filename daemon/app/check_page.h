#pragma once

#include <string>

#include "config/config.h"

namespace limegate::app {

/// One station as a keeper reads and signs it: its site, its wiring, what the plan comes to for
/// tank, powder, relay and people, and its limits with where each comes from. Lines of at most a
/// hundred letters, but for names and sentences of the file. Estimates are called so.
[[nodiscard]] std::string page_of(const config::Config& config, const config::Station& station);

/// In times of the even share: what the fullest window may come to.
[[nodiscard]] double fullest_window(const config::Station& station);

}  // namespace limegate::app
