#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "alerts/destination.h"
#include "config/asked_key.h"
#include "gpio/settings.h"
#include "modbus/settings.h"
#include "mqtt/settings.h"
#include "page/settings.h"
#include "simulator/tank_settings.h"
#include "station/settings.h"
#include "units/quantities.h"

namespace limegate::config {

/// A probe's place: which bus of the file, and where on it.
struct ProbeWiring {
  std::size_t bus = 0;
  modbus::ProbeSettings probe;
};

/// Where somebody else publishes an input of the owner's rules.
struct MqttTopic {
  std::string topic;
};

/// A line of a GPIO chip of this machine.
struct GpioLine {
  std::string chip;  ///< "/dev/gpiochip0"
  gpio::LineSettings line;
};

/// Where such an input comes from; from nowhere where the station is simulated.
using InputWiring = std::variant<std::monostate, ProbeWiring, MqttTopic, GpioLine>;

struct OutletWiring {
  std::size_t bus = 0;
  modbus::OutletSettings outlet;
};

/// How a station of real parts is wired. Exactly one of the two stirrer members is there.
struct Wiring {
  ProbeWiring ph;
  std::optional<ProbeWiring> second_ph;
  ProbeWiring temperature;
  OutletWiring pump;
  std::optional<OutletWiring> stirrer_outlet;
  std::optional<ProbeWiring> stirrer_input;
};

/// Facts of the site that the arithmetic of `check` shows.
struct Site {
  Litres water;
  Millilitres evaporation_per_day;
  Millimetres reactor_bore;
};

struct Station {
  station::Settings settings;
  Site site;
  std::optional<Wiring> wiring;  ///< absent: simulated
  simulator::TankSettings tank;
  std::optional<std::chrono::year_month_day> rate_measured = {};  ///< of the pump; a local day
  std::vector<InputWiring> inputs = {};     ///< of `settings.owner`, from its first own one on
  std::vector<std::string> confirmed = {};  ///< ids of questions (question.h) that are answered
  std::vector<GivenNumber> given = {};      ///< of [station.plan] and [station.limits]
};

/// A file that has been checked in full: nothing in it is unknown, missing or out of bounds.
struct Config {
  std::string state_dir;
  std::string witness_dir;  ///< for what is known of the ledger outside `state_dir`
  Duration poll = std::chrono::seconds{1};
  Duration record_every = std::chrono::seconds{10};
  double acceleration = 1.0;  ///< of the clock; above 1 only if every station is simulated
  std::string rtc;  ///< a real-time clock that keeps time without power: "rtc0"; empty: none
  std::vector<modbus::BusSettings> buses;
  std::vector<Station> stations;
  std::optional<page::Settings> page;       ///< absent: no page is served
  std::optional<mqtt::Settings> mqtt;       ///< absent: nothing is published
  std::optional<alerts::Delivery> deliver;  ///< absent: messages go nowhere but to MQTT
  std::vector<std::string> confirmed;       ///< ids of the daemon's questions that are answered
  std::vector<std::string> warnings;  ///< allowed, but a person should know; said at each start
};

}  // namespace limegate::config
