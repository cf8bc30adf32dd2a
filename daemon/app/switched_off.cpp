#include "app/switched_off.h"

#include <fstream>

namespace limegate::app {
namespace {

std::string note_path(const std::string& state_dir, const std::string& station) {
  return state_dir + "/off-" + station;
}

}  // namespace

void note_switched_off(const std::string& state_dir, const std::string& station,
                       const std::string& boot, Instant at) {
  std::ofstream{note_path(state_dir, station)} << boot << ' ' << at.time_since_epoch().count()
                                               << " end\n";
}

std::optional<Instant> switched_off(const std::string& state_dir, const std::string& station,
                                    const std::string& boot) {
  std::ifstream file(note_path(state_dir, station));
  std::string of_boot;
  std::string end;
  Duration::rep at = 0;
  const bool whole = file >> of_boot >> at >> end && end == "end" && of_boot == boot;
  return whole ? std::optional{Instant{Duration{at}}} : std::nullopt;
}

}  // namespace limegate::app
