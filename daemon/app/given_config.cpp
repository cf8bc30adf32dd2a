#include "app/given_config.h"

#include <algorithm>
#include <chrono>
#include <filesystem>
#include <system_error>
#include <utility>
#include <vector>

#include <fmt/chrono.h>
#include <fmt/format.h>
#include <fmt/ranges.h>
#include <sys/un.h>
#include <unistd.h>

#include "app/control_commands.h"
#include "app/state_dir.h"
#include "config/load.h"

namespace limegate::app {
namespace {

std::string resolve(const std::string& state_dir, const std::filesystem::path& folder) {
  return std::filesystem::absolute(folder / state_dir).lexically_normal().string();
}

std::filesystem::path folder_of(const std::string& path) {
  return std::filesystem::absolute(path).parent_path();
}

/// A slip of the pen, or a clock that is behind: only a person can tell.
void warn_of_days_ahead(config::Config& config) {
  const auto tomorrow = std::chrono::floor<std::chrono::days>(std::chrono::system_clock::now()) +
                        std::chrono::days{1};  // where the day begins before that of UTC
  for (const config::Station& station : config.stations) {
    if (station.rate_measured && std::chrono::sys_days{*station.rate_measured} > tomorrow) {
      config.warnings.push_back(fmt::format(
          "station.{}.pump.rate_measured: {:%F} is a day to come, by this machine's clock. Which "
          "of them is wrong?",
          station.settings.name, std::chrono::sys_days{*station.rate_measured}));
    }
  }
}

/// Without its control socket a daemon is deaf to every command.
config::Problems too_deep(const std::string& state_dir) {
  const std::size_t most = sizeof(sockaddr_un::sun_path) - 1;
  const std::string socket = control_path(state_dir);
  if (socket.size() <= most) {
    return {};
  }
  return {{0, "daemon.state_dir",
           fmt::format("is too long: the path of the control socket in it may have {} bytes, and "
                       "has {}. Choose a directory that is less deep",
                       most, socket.size())}};
}

}  // namespace

tl::expected<GivenConfig, config::Problems> load_given(const std::string& path) {
  if (path.empty()) {
    const std::string text{config::built_in()};
    auto built_in = config::parse(text);
    if (!built_in) {
      return tl::unexpected(built_in.error());
    }
    built_in->state_dir = resolve(built_in->state_dir + "-" + std::to_string(getuid()),
                                  std::filesystem::temp_directory_path());
    built_in->witness_dir = built_in->state_dir + "-witness";
    return GivenConfig{std::move(*built_in), text};
  }
  auto text = config::text_of(path);
  if (!text) {
    return tl::unexpected(text.error());
  }
  auto loaded = config::parse(*text);
  if (!loaded) {
    return tl::unexpected(loaded.error());
  }
  loaded->state_dir = resolve(loaded->state_dir, folder_of(path));
  loaded->witness_dir = resolve(loaded->witness_dir, folder_of(path));
  if (auto problems = too_deep(loaded->state_dir); !problems.empty()) {
    return tl::unexpected(std::move(problems));
  }
  warn_of_days_ahead(*loaded);
  return GivenConfig{std::move(*loaded), std::move(*text), path};
}

std::string state_dir_given(const std::string& path) {
  const std::string state_dir = config::state_dir_of(path);
  return state_dir.empty() ? state_dir : resolve(state_dir, folder_of(path));
}

bool knows_nothing(const config::Config& config) {
  const auto there = [](const std::string& path) {
    std::error_code unknown;  // where it can't be looked at there may be something
    return std::filesystem::exists(path, unknown) || unknown;
  };
  return !there(ledger_path(config.state_dir)) && !there(last_valid_path(config.state_dir)) &&
         std::none_of(config.stations.begin(), config.stations.end(),
                      [&](const config::Station& station) {
                        return there(guard_path(config.state_dir, station.settings.name)) ||
                               there(witness_path(config.witness_dir, station.settings.name));
                      });
}

std::string prepare_first(const std::string& path) {
  return "Nothing is known of any station of this file, so nothing was begun. Prepare it first: "
         "limegate prepare " +
         path + "\n";
}

tl::expected<const config::Station*, std::string> station_meant(const config::Config& config,
                                                                const std::string& name) {
  std::vector<std::string> names;
  names.reserve(config.stations.size());
  for (const config::Station& station : config.stations) {
    if (station.settings.name == name || (name.empty() && config.stations.size() == 1)) {
      return &station;
    }
    names.push_back(station.settings.name);
  }
  return tl::unexpected(
      fmt::format("--station must name a station of the file: {}", fmt::join(names, ", ")));
}

std::string objection_to_station(const config::Config& config, const std::string& name) {
  const auto meant = station_meant(config, name);
  return name.empty() || meant ? std::string{} : meant.error() + "\n";
}

}  // namespace limegate::app
