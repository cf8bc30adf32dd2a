#include "app/view.h"

#include <algorithm>
#include <chrono>

#include <fmt/chrono.h>
#include <fmt/format.h>

namespace limegate::app {
namespace {

std::string time_of(WallTime wall) {
  const std::time_t seconds = std::chrono::system_clock::to_time_t(
      std::chrono::time_point_cast<std::chrono::system_clock::duration>(wall));
  return fmt::format("{:%Y-%m-%d %H:%M:%S}", fmt::localtime(seconds));
}

std::string reading_of(const signal::Reading& reading, const char* format) {
  if (reading.quality == signal::Quality::bad) {
    return std::string{signal::name_of(reading.reason)} +
           " (probe: " + signal::name_of(signal::status_of(reading)) + ")";
  }
  return fmt::format(fmt::runtime(format), reading.value) + " " + signal::name_of(reading.quality);
}

const char* pump_word(station::PumpDuty::Phase phase) {
  using Phase = station::PumpDuty::Phase;
  switch (phase) {
    case Phase::resting:
      return "off";
    case Phase::reserving:
    case Phase::reserved:
      return "about to run";
    case Phase::sent:
    case Phase::running:
      return "running";
    case Phase::ending:
      return "being switched off";
  }
  std::abort();
}

const char* stirrer_word(rules::StirrerKnown::State state) {
  using State = rules::StirrerKnown::State;
  switch (state) {
    case State::running:
      return "running";
    case State::unknown:
      return "not known";
    case State::resting:
      return "off";
  }
  std::abort();
}

}  // namespace

std::string view_of(const station::Status& status) {
  std::string out = fmt::format("{}   {}\n", status.station, time_of(status.at.wall));
  out += fmt::format("  pH {}   temperature {}\n", reading_of(status.ph, "{:.2f}"),
                     reading_of(status.temperature, "{:.1f} °C"));
  out += fmt::format("  dosing is {}\n", status.gate_open ? "open" : "held:");
  for (const auto& hold : status.holds) {
    out += "    - " + hold.sentence + "\n";
  }
  out += fmt::format("  pump {}   stirrer {}   next stir in {}\n", pump_word(status.pump),
                     stirrer_word(status.stirrer),
                     rules::for_people(std::max(status.next_stir_in, Duration::zero())));
  out += fmt::format("  counted: {:.1f} of {:.1f} mL in 24 h, {:.1f} of {:.1f} mL in 1 h\n",
                     status.given_day.count(), status.day_limit.count(), status.given_hour.count(),
                     status.hour_limit.count());
  out += status.next_pulse_in
             ? fmt::format("  next pulse: {:.1f} mL in {}\n", status.pulse_volume.count(),
                           rules::for_people(*status.next_pulse_in))
             : std::string{"  next pulse: after the next stir has settled\n"};
  return out;
}

std::string view_of(const std::vector<Happened>& events, std::size_t count) {
  std::string out;
  const std::size_t skip = events.size() > count ? events.size() - count : 0;
  for (std::size_t i = skip; i < events.size(); ++i) {
    out += fmt::format("  {}  {}\n", time_of(events[i].event.at), events[i].event.sentence);
  }
  return out;
}

}  // namespace limegate::app
