#pragma once

#include <optional>
#include <string>

#include <tl/expected.hpp>

#include "config/config.h"

namespace limegate::app {

/// Where the service has its file and its state; what `limegate off` goes by if nothing else tells.
struct ServicePlaces {
  std::string file = "/etc/limegate/limegate.toml";
  std::string state_dir = "/var/lib/limegate";
};

/// What `limegate off` switches off, and what a person should know of where that is from.
struct OffConfig {
  config::Config config;  ///< its state_dir is the daemon's, absolute
  std::string path;       ///< of the file it is from
  std::string said;       ///< empty: it is the file, and the file is right
  /// What the daemon ran with last, where it has an outlet that the file does not have: that one
  /// may be on.
  std::optional<config::Config> ran_last = {};
};

/// The config of `file`. Without one, the service's. If that can't be used, the last valid copy in
/// `state_dir`; if that is empty, in the state_dir that the file names, or else in the service's.
/// With a `state_dir` and no `file` at once what is kept there.
/// Error: everything that was looked at, what is wrong with it and what to do.
[[nodiscard]] tl::expected<OffConfig, std::string> config_for_off(
    const std::string& file, const std::string& state_dir, const ServicePlaces& service = {});

}  // namespace limegate::app
