#pragma once

#include <functional>

#include <boost/asio/io_context.hpp>

#include "app/pace.h"
#include "app/world.h"

namespace limegate::app {

/// Drives a world until SIGTERM, SIGINT, SIGHUP or SIGQUIT, then switches everything off.
/// `after_tick` is called after each tick, in the loop thread.
/// Returns whether all outlets were confirmed to be off at the end.
[[nodiscard]] bool run_until_stopped(boost::asio::io_context& loop, World& world, Pace& pace,
                                     const std::function<void()>& after_tick);

}  // namespace limegate::app
