#pragma once

#include <optional>

#include <boost/asio/io_context.hpp>

#include "app/world.h"
#include "mqtt/surface.h"

namespace limegate::app {

/// Ties the MQTT surface to the loop and the world, if the owner wants one.
/// Threads: the loop thread.
class MqttWiring {
 public:
  MqttWiring(boost::asio::io_context& loop, World& world, const config::Config& config);

  /// After each tick.
  void tick();
  /// How the connection is.
  void add_to(station::Overview& overview) const;
  /// Shows how everything was left and says goodbye; two seconds at most.
  void stop();

 private:
  World& world_;
  std::optional<mqtt::Surface> surface_;
};

}  // namespace limegate::app
