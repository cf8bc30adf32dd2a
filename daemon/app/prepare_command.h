#pragma once

#include <string>

#include "app/check_command.h"
#include "config/config.h"
#include "journal/ledger.h"

namespace limegate::app {

/// Creates the ledger of new stations; with the name of one, of that alone. Returns an ExitCode.
[[nodiscard]] int prepare(const std::string& file, const std::string& station, journal::Water water,
                          Format format);

/// A person stated that the state directory is the newest and was moved here whole. Returns an
/// ExitCode.
[[nodiscard]] int settle_moved(const std::string& file, Format format);

/// The same as `prepare` for a config without real parts, and without a word. False if it failed.
[[nodiscard]] bool prepare_simulated(const config::Config& config);

}  // namespace limegate::app
