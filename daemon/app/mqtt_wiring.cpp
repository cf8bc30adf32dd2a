#include "app/mqtt_wiring.h"

#include <functional>
#include <string>
#include <utility>
#include <vector>

#include <boost/asio/post.hpp>

namespace limegate::app {
namespace {

/// Inputs that come by MQTT, and where they belong.
struct Inputs {
  struct Place {
    std::size_t station, input;
  };
  std::vector<mqtt::InputTopic> topics;
  std::vector<Place> places;
};

Inputs inputs_of(const config::Config& config) {
  Inputs inputs;
  for (std::size_t station = 0; station < config.stations.size(); ++station) {
    const config::Station& one = config.stations[station];
    for (std::size_t i = 0; i < one.inputs.size() && one.wiring; ++i) {
      const std::size_t input = rules::OwnerRulebook::kFirstOwn + i;
      if (const auto* topic = std::get_if<config::MqttTopic>(&one.inputs[i])) {
        inputs.topics.push_back({topic->topic, one.settings.owner.inputs[input].kind});
        inputs.places.push_back({station, input});
      }
    }
  }
  return inputs;
}

}  // namespace

MqttWiring::MqttWiring(boost::asio::io_context& loop, World& world, const config::Config& config)
    : world_(world) {
  if (!config.mqtt) {
    return;
  }
  const Inputs inputs = inputs_of(config);
  surface_.emplace(
      *config.mqtt,
      mqtt::Surface::Parts{
          [&loop](std::function<void()> what) { boost::asio::post(loop, std::move(what)); },
          [&world](const std::string& station, const alerts::Asked& command) {
            return world.command(station, command, {station::Origin::afar, "MQTT"});
          },
          [&world](const std::string& station, const station::Event& event) {
            world.events().raise(station, event);
          },
          inputs.topics,
          [&world, places = inputs.places](std::size_t input, double value) {
            world.observe_input(places[input].station, places[input].input, value);
          }});
  world.on_message([this](const std::string& event) { surface_->give_out(event); });
  world.events().listen(
      [this](const Happened& happened) { surface_->tell(happened.station, happened.event); });
}

void MqttWiring::tick() {
  if (surface_) {
    surface_->show(world_.overview());
  }
}

void MqttWiring::add_to(station::Overview& overview) const {
  if (surface_) {
    overview.mqtt = surface_->state();
  }
}

void MqttWiring::stop() {
  if (surface_) {
    surface_->show(world_.overview());
    surface_->stop();
  }
}

}  // namespace limegate::app
