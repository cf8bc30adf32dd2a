#pragma once

#include <cstdint>
#include <map>
#include <string>

#include "modbus/line.h"
#include "modbus/patience.h"

namespace limegate::modbus {

/// The devices on one line: leaves silent ones alone for a while, so that a dead unit costs the
/// others one timeout a try, and notes when contact with one was broken.
/// Threads: used by the bus thread only; blocks as Line does.
class Devices {
 public:
  Devices(const BusSettings& settings, Line& line);

  /// Sends one request to its unit. An exception answer counts as life.
  /// Errors: as Line::exchange, and {no, backing_off} for a patient request to a silent unit.
  [[nodiscard]] Exchange ask(const Request& request, const Terms& terms);

  /// Changes whenever the port was opened again or the unit was silent: what was written to it
  /// before may be lost.
  struct Contact {
    std::uint64_t openings = 0;
    std::uint64_t silences = 0;
    friend bool operator==(const Contact&, const Contact&) = default;
  };
  [[nodiscard]] Contact contact(int unit) const;

  [[nodiscard]] bool is_failing(int unit) const;
  /// When a failing unit is worth a patient request again.
  [[nodiscard]] Instant next_try(int unit) const { return devices_.at(unit).patience.next_try(); }

 private:
  struct Device {
    Patience patience;
    std::uint64_t silences = 0;
  };
  void note(const Request& request, const Exchange& outcome, Device& device);

  std::string bus_name_;
  Patience fresh_;
  Line& line_;
  std::map<int, Device> devices_;
};

}  // namespace limegate::modbus
