#include "app/off_config.h"

#include <algorithm>
#include <filesystem>
#include <set>
#include <utility>

#include "app/check_command.h"
#include "app/given_config.h"
#include "app/state_dir.h"
#include "config/outlets.h"

namespace limegate::app {
namespace {

/// Where the last valid copy is, by whoever can tell.
std::string kept_in(const std::string& file, const std::string& state_dir,
                    const ServicePlaces& service) {
  if (!state_dir.empty()) {
    return std::filesystem::absolute(state_dir).lexically_normal().string();
  }
  const std::string named = state_dir_given(file);
  return named.empty() ? service.state_dir : named;
}

std::set<std::string> places_of(const config::Config& config) {
  std::set<std::string> places;
  for (const config::Outlet& outlet : config::outlets_of(config)) {
    places.insert(config::switch_point_of(config, *outlet.wiring));
  }
  return places;
}

std::optional<config::Config> ran_last(const config::Config& given) {
  auto kept = load_given(last_valid_path(given.state_dir));
  if (!kept) {
    return std::nullopt;
  }
  const auto now = places_of(given);
  const auto then = places_of(kept->config);
  return std::includes(now.begin(), now.end(), then.begin(), then.end())
             ? std::nullopt
             : std::optional{std::move(kept->config)};
}

}  // namespace

tl::expected<OffConfig, std::string> config_for_off(const std::string& file,
                                                    const std::string& state_dir,
                                                    const ServicePlaces& service) {
  const std::string& asked = file.empty() ? service.file : file;
  std::string said;
  if (!file.empty() || state_dir.empty()) {
    auto given = load_given(asked);
    if (given) {
      if (!state_dir.empty()) {
        given->config.state_dir = kept_in(asked, state_dir, service);
      }
      auto last = ran_last(given->config);
      return OffConfig{std::move(given->config), asked, "", std::move(last)};
    }
    said = explain(given.error(), asked, Format::people);
  }
  const std::string directory = kept_in(asked, state_dir, service);
  const std::string kept = last_valid_path(directory);
  auto given = load_given(kept);
  if (!given) {
    return tl::unexpected(said + explain(given.error(), kept, Format::people) +
                          "Nothing was switched. Name the file that the daemon runs with, or its "
                          "state directory: limegate off --state-dir DIR.\n");
  }
  // The copy may name a directory that is meant from the folder of the file it was made of.
  given->config.state_dir = directory;
  return OffConfig{std::move(given->config), kept,
                   said + "Using the last valid config instead: " + kept + "\n"};
}

}  // namespace limegate::app
