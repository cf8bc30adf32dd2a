#include "app/off_command.h"

#include <cstdio>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "app/exit_code.h"
#include "app/log.h"
#include "app/off_config.h"
#include "app/paces.h"
#include "app/switch_off.h"
#include "app/switched_off.h"

namespace limegate::app {
namespace {

void print(const std::string& text) { std::fputs(text.c_str(), stdout); }
void complain(const std::string& text) { std::fputs(as_errors(text).c_str(), stderr); }

}  // namespace

int off(const std::string& file, const std::string& state_dir, Format format) {
  const auto found = config_for_off(file, state_dir);
  if (!found) {
    complain(found.error());
    return kBadInput;
  }
  if (!found->said.empty()) {
    complain(found->said);
  }
  bool all = true;
  nlohmann::json list = nlohmann::json::array();
  std::string lines;
  for (const OffResult& result : switch_all_off(found->config)) {
    all = all && result.confirmed;
    if (result.confirmed && result.outlet == "pump") {
      const RealPace pace;
      note_switched_off(found->config.state_dir, result.station, pace.boot_id(),
                        pace.clock().now().mono);
    }
    list.push_back({{"station", result.station},
                    {"outlet", result.outlet},
                    {"confirmed_off", result.confirmed}});
    lines += fmt::format(
        "{:<24} {:<8} {}\n", result.station, result.outlet,
        result.confirmed ? "off, confirmed" : "NOT CONFIRMED: look at it now and cut its power");
  }
  print(format == Format::json ? list.dump(2) + "\n"
        : lines.empty()        ? std::string{"Every station is simulated: nothing to switch.\n"}
                               : lines);
  if (!all && format == Format::people) {
    complain("Not every outlet is confirmed to be off. Look at the pump now.\n");
  }
  return all ? kFine : kNotConfirmed;
}

}  // namespace limegate::app
