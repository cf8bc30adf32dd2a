#include "app/book_asked.h"

#include <algorithm>
#include <utility>

#include <fmt/format.h>

#include "app/control_commands.h"
#include "app/exit_code.h"
#include "units/rfc3339.h"

namespace limegate::app {

using nlohmann::json;
using web::ControlClient;

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

care::Written row_of(const json& entry) {
  const auto text = [&](const char* key) { return entry.value(key, std::string{}); };
  return {parse_rfc3339(text("time")).value_or(WallTime{}), text("what"), text("value"),
          text("unit"), text("kit")};
}

bool was_undone(const json& entry) { return entry.value("undone", json()).is_string(); }

}  // namespace limegate::app
