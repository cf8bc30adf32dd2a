#include "app/mqtt_wiring.h"

#include <functional>
#include <string>
#include <utility>

#include <boost/asio/post.hpp>

namespace limegate::app {

MqttWiring::MqttWiring(boost::asio::io_context& loop, World& world,
                       const std::optional<mqtt::Settings>& settings)
    : world_(world) {
  if (!settings) {
    return;
  }
  surface_.emplace(
      *settings,
      mqtt::Surface::Parts{
          [&loop](std::function<void()> what) { boost::asio::post(loop, std::move(what)); },
          [&world](const std::string& station, const station::Command& command) {
            return world.command(station, command, {station::Origin::afar, "MQTT"});
          },
          [&world](const std::string& station, const station::Event& event) {
            world.events().raise(station, event);
          }});
  world.events().listen(
      [this](const Happened& happened) { surface_->tell(happened.station, happened.event); });
}

void MqttWiring::tick() {
  if (surface_) {
    surface_->show(world_.overview());
  }
}

void MqttWiring::stop() {
  if (surface_) {
    surface_->show(world_.overview());
    surface_->stop();
  }
}

}  // namespace limegate::app
