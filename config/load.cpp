#include "config/load.h"

#include <algorithm>
#include <filesystem>
#include <iterator>
#include <map>
#include <regex>
#include <sstream>

#include <fmt/format.h>
#include <toml++/toml.h>

#include "config/bus_reader.h"
#include "config/deliver_reader.h"
#include "config/mqtt_reader.h"
#include "config/outlets.h"
#include "config/page_reader.h"
#include "config/question.h"
#include "config/station_reader.h"
#include "config/table_reader.h"
#include "files/regular.h"
#include "rules/limits.h"

namespace limegate::config {
namespace {

Problem problem_of(const toml::parse_error& error) {
  return {
      static_cast<int>(error.source().begin.line), "",
      fmt::format("this is not valid TOML (column {}): {}. Texts need quotes, numbers none, and "
                  "decimals come behind a point.",
                  error.source().begin.column, error.description())};
}

/// "/var/lib/limegate" gives "/var/lib/limegate-witness".
std::string beside(std::string state_dir) {
  while (state_dir.size() > 1 && state_dir.back() == '/') {
    state_dir.pop_back();
  }
  return state_dir.empty() ? state_dir : state_dir + "-witness";
}

bool inside(const std::string& directory, const std::string& other) {
  const auto outer = std::filesystem::path{other + "/"}.lexically_normal();
  const auto inner = std::filesystem::path{directory + "/"}.lexically_normal();
  return !other.empty() && !directory.empty() &&
         std::mismatch(outer.begin(), std::prev(outer.end()), inner.begin(), inner.end()).first ==
             std::prev(outer.end());
}

void read_buses(TableReader& root, Config& config) {
  for (TableReader& reader : root.tables("bus")) {
    modbus::BusSettings bus = read_bus(reader);
    for (const modbus::BusSettings& other : config.buses) {
      if (!bus.name.empty() && other.name == bus.name) {
        reader.complain("name", "another [[bus]] has the name '" + bus.name + "' already");
      }
      if (port_of(other) == port_of(bus)) {
        reader.complain("type", "the bus '" + other.name + "' has this port (" + port_of(bus) +
                                    ") already; several units share one [[bus]]");
      }
    }
    config.buses.push_back(std::move(bus));
  }
}

/// Two outlets on one switch point would fight, and one of them would be the pump.
void check_outlets(const Config& config, const Problems& problems, TableReader& root) {
  // What stands in for something faulty is no place.
  const auto faulty = [&](const Outlet& outlet) {
    const std::string& name = outlet.station->settings.name;
    const std::string table = fmt::format("station.{}.{}", name, outlet.what);
    return name.empty() ||
           std::any_of(problems.begin(), problems.end(),
                       [&](const Problem& problem) { return problem.key.rfind(table, 0) == 0; });
  };
  std::map<std::string, std::string> seen;
  for (const Outlet& outlet : outlets_of(config)) {
    if (faulty(outlet)) {
      continue;
    }
    const std::string what =
        fmt::format("the {} of {}", outlet.what, outlet.station->settings.name);
    const auto [taken, fresh] = seen.emplace(switch_point_of(config, *outlet.wiring), what);
    if (!fresh) {
      root.complain("station", fmt::format("{} and {} are wired to the same switch point", what,
                                           taken->second));
    }
  }
}

/// While limewater flows pH must be heard; one lost answer should not end a pulse.
void warn_of_slow_replies(Config& config) {
  for (const Station& station : config.stations) {
    if (!station.wiring) {
      continue;
    }
    const modbus::BusSettings& bus = config.buses[station.wiring->ph.bus];
    const Duration limit = station.settings.limits.reading_age_flowing;
    if (2 * bus.reply_timeout + rules::kReadFlowing > limit) {
      config.warnings.push_back(fmt::format(
          "bus.{}: with reply_timeout_ms = {} one lost answer may end a pulse of {}: while its "
          "pump "
          "runs its pH must be heard each {:.0f} s. Does a device need so long? Else lower it.",
          bus.name, bus.reply_timeout / std::chrono::milliseconds{1}, station.settings.name,
          in_seconds(limit)));
    }
  }
}

void read_stations(TableReader& root, Config& config, const Problems& problems) {
  using Broker = WiringReader::Broker;
  WiringReader wiring{config.buses, root.has("mqtt") ? Broker::given : Broker::none,
                      config.warnings};
  const std::size_t told = root.problem_count();
  for (TableReader& reader : root.tables("station")) {
    Station station = read_station(reader, wiring, config.warnings);
    for (const Station& other : config.stations) {
      if (!station.settings.name.empty() && other.settings.name == station.settings.name) {
        reader.complain("name",
                        "another [[station]] has the name '" + station.settings.name + "' already");
      }
    }
    config.stations.push_back(std::move(station));
  }
  if (config.stations.empty() && root.problem_count() == told) {
    root.complain("station", "there is no [[station]]: nothing to do");
  }
  if (!wiring.misses_a_bus()) {
    check_outlets(config, problems, root);
  }
}

/// A table that may be left out.
template <class Read>
void read_if_there(TableReader& root, std::string_view key, Read read) {
  if (root.has(key)) {
    TableReader table = root.table(key);
    read(table);
  } else {
    root.knows(key);
  }
}

tl::expected<Config, Problems> read(const toml::table& table, KeyList* asked = nullptr) {
  Problems problems;
  Config config;
  TableReader root{table, "", problems, asked};
  TableReader daemon = root.table("daemon");
  config.state_dir = daemon.text("state_dir");
  config.witness_dir = daemon.maybe_text("witness_dir").value_or(beside(config.state_dir));
  if (inside(config.witness_dir, config.state_dir)) {
    daemon.complain("witness_dir",
                    "lies in state_dir, and would be moved, lost or put back together with it; "
                    "another directory is needed, or none for one beside it");
  }
  const auto milliseconds = [](double seconds) {
    return std::chrono::milliseconds{static_cast<std::int64_t>(seconds * 1000.0)};
  };
  config.poll = milliseconds(daemon.number("poll_s", {1, 5}, 1));
  config.record_every = milliseconds(daemon.number("record_every_s", {1, 600}, 10));
  config.acceleration = daemon.number("acceleration", {1, 100000}, 1);
  config.rtc = daemon.maybe_text("rtc").value_or("");
  if (!config.rtc.empty() &&
      (config.rtc.rfind("rtc", 0) != 0 || config.rtc.find('/') != std::string::npos)) {
    daemon.complain("rtc",
                    "must be the name of a real-time clock below /sys/class/rtc, such as "
                    "\"rtc0\"");
  }
  config.confirmed = daemon.maybe_words("confirmed", daemon_question_ids());
  daemon.finish();
  read_buses(root, config);
  read_stations(root, config, problems);
  read_if_there(root, "mqtt",
                [&](TableReader& mqtt) { config.mqtt = read_mqtt(mqtt, config.warnings); });
  read_if_there(root, "page", [&](TableReader& page) { config.page = read_page(page); });
  read_if_there(root, "deliver", [&](TableReader& deliver) {
    config.deliver = read_deliver(deliver, config.warnings);
  });
  root.finish();
  if (problems.empty()) {
    warn_of_slow_replies(config);
  }
  const bool all_simulated =
      std::all_of(config.stations.begin(), config.stations.end(),
                  [](const Station& station) { return !station.wiring.has_value(); });
  if (problems.empty() && config.acceleration > 1.0 && !all_simulated) {
    daemon.complain("acceleration",
                    "only a daemon whose stations are all simulated may run faster than life: "
                    "real limewater settles in its own time");
  }
  if (!problems.empty()) {
    std::stable_sort(problems.begin(), problems.end(),
                     [](const Problem& a, const Problem& b) { return a.line < b.line; });
    return tl::unexpected(std::move(problems));
  }
  return config;
}

/// Of the longest file that is read, of a line in it, and of the dots in a line. The parser goes
/// down a step for each part of a dotted key and each nested value (it takes 256 of those), and
/// 40,000 steps are more than a stack holds.
constexpr std::size_t kLongest = 262'144, kLongestLine = 1000;
constexpr std::ptrdiff_t kMostDots = 40;

/// The first line that is too much for the parser, and why.
std::optional<Problem> absurd_line_in(std::string_view text) {
  // In a text over several lines a # begins no comment, and the line may end that text.
  const bool plain =
      text.find("\"\"\"") == std::string_view::npos && text.find("'''") == std::string_view::npos;
  int number = 1;
  for (std::size_t begin = 0; begin < text.size(); ++number) {
    const std::string_view line = text.substr(begin, text.find('\n', begin) - begin);
    const auto first = line.find_first_not_of(" \t");
    if (plain && first != std::string_view::npos && line[first] == '#') {
      begin += line.size() + 1;
      continue;  // nothing to go down into
    }
    if (line.size() > kLongestLine) {
      return Problem{number, "",
                     fmt::format("is longer than {} bytes: no key or value needs that. A long text "
                                 "goes over several lines, between \"\"\"",
                                 kLongestLine)};
    }
    if (std::count(line.begin(), line.end(), '.') > kMostDots) {
      return Problem{number, "",
                     fmt::format("has more than {} dots: no key or value needs that", kMostDots)};
    }
    begin += line.size() + 1;
  }
  return std::nullopt;
}

/// In a text that is no TOML: the first line that reads like it.
std::string state_dir_line(const std::string& text) {
  static const std::regex whole{
      R"re(\s*(?:daemon\s*\.\s*)?state_dir\s*=\s*(?:"([^"\\]+)"|'([^']+)')\s*(?:#.*)?)re"};
  std::istringstream lines{text};
  std::smatch found;
  for (std::string line; std::getline(lines, line);) {
    if (line.size() <= kLongestLine && std::regex_match(line, found, whole)) {
      return found[1].matched ? found[1] : found[2];
    }
  }
  return {};
}

}  // namespace

tl::expected<Config, Problems> parse(std::string_view text) {
  if (auto absurd = absurd_line_in(text)) {
    return tl::unexpected(Problems{std::move(*absurd)});
  }
  try {
    return read(toml::parse(text, std::string_view{"config"}));
  } catch (const toml::parse_error& error) {
    return tl::unexpected(Problems{problem_of(error)});
  }
}

tl::expected<std::string, Problems> text_of(const std::string& path) {
  auto text = files::read_regular(path, kLongest);
  if (!text) {
    return tl::unexpected(Problems{
        {0, "",
         "can't be read: " + text.error() + ". Check the path and that this user may read it"}});
  }
  return std::move(*text);
}

KeyList keys_asked(std::string_view text) {
  KeyList asked;
  try {
    (void)read(toml::parse(text, std::string_view{"config"}), &asked);
  } catch (const toml::parse_error&) {
    asked.clear();
  }
  return asked;
}

tl::expected<Config, Problems> load(const std::string& path) {
  const auto text = text_of(path);
  return text ? parse(*text) : tl::unexpected(text.error());
}

std::string state_dir_of(const std::string& path) {
  const auto text = text_of(path);
  if (!text) {
    return {};
  }
  if (absurd_line_in(*text)) {
    return state_dir_line(*text);
  }
  try {
    return toml::parse(*text, std::string_view{"config"})["daemon"]["state_dir"].value_or(
        std::string{});
  } catch (const toml::parse_error&) {
    return state_dir_line(*text);
  }
}

}  // namespace limegate::config
