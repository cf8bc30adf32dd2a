#pragma once

#include <string>

#include <tl/expected.hpp>

#include "config/config.h"
#include "config/problem.h"

namespace limegate::app {

/// A config as it was given on the command line.
struct GivenConfig {
  config::Config config;  ///< with a state_dir that is absolute
  std::string text;       ///< as written
  std::string path = {};  ///< as given; empty: what is built in
};

/// Loads `path`, or what is built in where it is empty. A relative state_dir is meant from the
/// file's own folder (built in: from the folder for temporary files).
[[nodiscard]] tl::expected<GivenConfig, config::Problems> load_given(const std::string& path);

/// The state_dir of a file that may be wrong everywhere else; empty if it can't be told.
[[nodiscard]] std::string state_dir_given(const std::string& path);

/// Whether this machine knows nothing at all of any of its stations. Any trace means lost, not new.
[[nodiscard]] bool knows_nothing(const config::Config& config);
/// What is said of stations of which nothing is known.
[[nodiscard]] std::string prepare_first(const std::string& path);

/// One line where the file has no station of that name, which --station gave; empty where it has,
/// and where none was named.
[[nodiscard]] std::string objection_to_station(const config::Config& config,
                                               const std::string& name);
/// The one that --station named, or the only one there is. Error: one sentence.
[[nodiscard]] tl::expected<const config::Station*, std::string> station_meant(
    const config::Config& config, const std::string& name);

}  // namespace limegate::app
