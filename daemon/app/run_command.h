#pragma once

#include "app/given_config.h"
#include "app/pace.h"

namespace limegate::app {

enum class View { log, screen };

/// Whether the days before the start are rehearsed into the journal first; simulated stations only.
enum class Past { as_it_is, rehearsed };

/// Runs a checked config until it is told to stop. Its text is kept for `limegate off`.
/// Returns an ExitCode.
[[nodiscard]] int run(const GivenConfig& given, Pace& pace, View view, Past past);

}  // namespace limegate::app
