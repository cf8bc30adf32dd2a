#include "app/book_asked.h"

#include <algorithm>
#include <chrono>
#include <thread>
#include <utility>

#include <fmt/format.h>

#include "app/control_commands.h"
#include "app/exit_code.h"
#include "care/entry_reader.h"
#include "units/rfc3339.h"

namespace limegate::app {

using nlohmann::json;
using web::ControlClient;

namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

/// A disk takes seconds at the worst.
constexpr auto kWrittenWithin = 10s;
constexpr auto kLookEvery = 100ms;

}  // namespace

tl::expected<Reached, int> reach(const Meant& meant) {
  const auto config = config_of(meant);
  if (!config) {
    return tl::unexpected(config.error());
  }
  auto client = ControlClient::connect(control_path(config->config.state_dir));
  if (!client) {
    return tl::unexpected(failed(client.error()));
  }
  return Reached{std::move(*client), station_of(meant, config->config)};
}

tl::expected<std::vector<json>, int> entries_after(Reached& daemon, std::int64_t number) {
  std::vector<json> entries;
  for (bool more = true; more;) {
    const auto answer = daemon.client.ask("book", {{"station", daemon.station}, {"after", number}});
    if (!answer) {
      return tl::unexpected(failed(answer.error()));
    }
    if (!answer->contains("entries")) {
      complain(fmt::format("Refused. {}\n", answer->value("sentence", std::string{})));
      return tl::unexpected(static_cast<int>(kRefused));
    }
    for (const json& entry : answer->at("entries")) {
      number = std::max(number, entry.value("number", number));
      entries.push_back(entry);
    }
    more = answer->value("more", false);
  }
  return entries;
}

tl::expected<json, int> station_shown(Reached& daemon) {
  const auto answer = daemon.client.ask("status", {{"station", daemon.station}});
  if (!answer) {
    return tl::unexpected(failed(answer.error()));
  }
  const json overview = answer->value("overview", json::object());
  const json stations = overview.value("stations", json::array());
  if (stations.empty()) {
    complain("The running daemon has no station '" + daemon.station +
             "': limegate status lists them.\n");
    return tl::unexpected(static_cast<int>(kBadInput));
  }
  json station = stations.front();
  station["time"] = overview.value("time", std::string{});
  return station;
}

bool all_written(Reached& daemon) {
  const auto until = std::chrono::steady_clock::now() + kWrittenWithin;
  while (std::chrono::steady_clock::now() < until) {
    const auto entries = entries_after(daemon, 0);
    if (!entries) {
      return false;
    }
    if (std::all_of(entries->begin(), entries->end(),
                    [](const json& entry) { return entry.value("written", false); })) {
      return true;
    }
    std::this_thread::sleep_for(kLookEvery);
  }
  return false;
}

care::Book standing_of(const std::vector<json>& entries) {
  care::Book book;
  for (const json& entry : entries) {
    care::Written row = row_of(entry);
    auto known = care::read_entry(row);
    if (known && !was_undone(entry)) {
      book.entries.push_back(std::move(*known));
    }
  }
  return book;
}

care::Written row_of(const json& entry) {
  const auto text = [&](const char* key) { return entry.value(key, std::string{}); };
  return {parse_rfc3339(text("time")).value_or(WallTime{}), text("what"), text("value"),
          text("unit"), text("kit")};
}

bool was_undone(const json& entry) { return entry.value("undone", json()).is_string(); }

}  // namespace limegate::app
