#pragma once

#include <functional>

#include <boost/asio/io_context.hpp>

#include "app/pace.h"
#include "app/world.h"

namespace limegate::app {

/// What a runner tells of its way, in the loop thread.
struct Milestones {
  std::function<void()> after_tick;   ///< every station's step ran through, and its effects are out
  std::function<void()> before_stop;  ///< told to stop; nothing is off yet
};

/// Drives a world until SIGTERM, SIGINT, SIGHUP or SIGQUIT, then switches everything off.
/// Returns whether all outlets were confirmed to be off at the end.
[[nodiscard]] bool run_until_stopped(boost::asio::io_context& loop, World& world, Pace& pace,
                                     const Milestones& milestones);

}  // namespace limegate::app
