#pragma once

#include "alerts/destination.h"
#include "config/problem.h"

namespace limegate::app {

/// What of the destinations can't work on this machine: a program that is not there or may not be
/// run, a secret's file that is missing or readable by all. `check` refuses it; a daemon doses on.
[[nodiscard]] config::Problems problems_of(const alerts::Delivery& delivery);

}  // namespace limegate::app
