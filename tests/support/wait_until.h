#pragma once

#include <chrono>
#include <functional>

namespace limegate::test {

/// Waits in real time until `done`; false if it never came. The patience is for a busy machine, and
/// only a failing test ever uses it up.
[[nodiscard]] bool wait_until(const std::function<bool()>& done,
                              std::chrono::milliseconds within = std::chrono::seconds{120});

}  // namespace limegate::test
