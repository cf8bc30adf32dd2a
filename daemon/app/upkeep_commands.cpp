#include "app/upkeep_commands.h"

#include <array>
#include <memory>
#include <string>
#include <vector>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "app/asking.h"
#include "app/book_asked.h"
#include "app/exit_code.h"
#include "app/leaving.h"
#include "app/time_given.h"
#include "calculator/inputs.h"
#include "calculator/measure.h"
#include "station/command.h"
#include "station/records.h"
#include "units/rfc3339.h"

namespace limegate::app {
namespace {

using calculator::Unit;
using nlohmann::json;

constexpr std::array kTimes{Unit{"min"}, Unit{"h", 60.0}};

struct Given : Meant {
  std::string lasting, until, leave;
  bool sure = false;
};

/// The station that is meant. Error: the ExitCode.
tl::expected<json, int> shown(const Given& given) {
  auto daemon = reach(given);
  return daemon ? station_shown(*daemon) : tl::unexpected(daemon.error());
}

int upkeep(const Given& given) {
  const auto status = shown(given);
  if (!status) {
    return status.error();
  }
  const json items = status->value("upkeep", json::array());
  if (given.json) {
    print(items.dump(2) + "\n");
    return kFine;
  }
  std::string lines;
  for (const json& item : items) {
    lines += fmt::format("{:<10} {:<10} {}\n", item.value("chore", std::string{}),
                         item.value("state", std::string{}), item.value("sentence", std::string{}));
  }
  print(lines);
  return kFine;
}

int service(const Given& given) {
  const auto minutes = calculator::parse_in("--for", given.lasting, kTimes);
  if (!minutes) {
    complain(minutes.error() + "\n");
    return kBadInput;
  }
  if (*minutes > in_minutes(station::kPauseMax) || !(*minutes > 0.0)) {
    complain("--for " + given.lasting + ": above zero, and 24 h at most; say it again then.\n");
    return kBadInput;
  }
  return send(given, station::name_of(station::Service{}), json{{"minutes", *minutes}});
}

/// A day alone is its noon, UTC.
tl::expected<WallTime, std::string> until_of(const Given& given) {
  const auto noon = parse_rfc3339(given.until + "T12:00:00Z");
  return noon ? tl::expected<WallTime, std::string>{*noon} : time_given("--until", given.until, {});
}

/// What is left of the day's volume, as a share of it.
tl::expected<double, std::string> share_of(const Given& given) {
  if (given.leave.empty()) {
    return 1.0;
  }
  const auto percent = calculator::parse_percent("--leave", given.leave);
  if (!percent) {
    return tl::unexpected(percent.error());
  }
  if (!(percent->count() >= 0.0 && percent->count() <= 100.0)) {
    return tl::unexpected("--leave " + given.leave + ": 0 to 100 % of the day's volume");
  }
  return percent->count() / 100.0;
}

int leave(const Given& given) {
  const auto until = until_of(given);
  const auto share = share_of(given);
  if (!until || !share) {
    complain((until ? share.error() : until.error()) + ".\n");
    return kBadInput;
  }
  const auto config = config_of(given);
  if (!config) {
    return config.error();
  }
  const auto status = shown(given);
  if (!status) {
    return status.error();
  }
  const auto now = parse_rfc3339(status->value("time", std::string{}));
  if (!now || !(*until > *now && *until - *now <= station::kAwayMax)) {
    complain("--until " + given.until + ": a time to come, within 60 days.\n");
    return kBadInput;
  }
  const Duration lasting = *until - *now;
  const auto& deliver = config->config.deliver;
  const auto concerns =
      before_leaving(*status, lasting, *share, deliver ? deliver->destinations.size() : 0);
  for (const std::string& concern : concerns) {
    complain("- " + concern + "\n");
  }
  const double day = status->value("day_volume_at_station_ml", 0.0) * *share;
  complain(
      fmt::format("Until then it takes up to {:.1f} L of fresh water: look how full the "
                  "reservoir is. Try that an alert reaches you: limegate alerts test.\n",
                  day * in_seconds(lasting) / 86400.0 / 1000.0));
  if (!concerns.empty() && !given.sure) {
    complain("Nothing was changed. Mend it, or say it again with --sure.\n");
    return kRefused;
  }
  return send(given, station::name_of(station::Away{}),
              json{{"minutes", in_minutes(lasting)}, {"ml", day}});
}

}  // namespace

void add_upkeep_commands(CLI::App& app, int& code) {
  const auto given = std::make_shared<Given>();
  CLI::App* upkeep_it = add_for_station(
      app, "upkeep", "What is due at reactor, pump and probes, and when, by the book", *given);
  upkeep_it->callback([=, &code] { code = upkeep(*given); });

  CLI::App* service_it = add_for_station(
      app, "work", "Work at the reactor: paused, the stirrer rests, and it settles before any dose",
      *given);
  service_it->add_option("--for", given->lasting, "How long: 30min, 2h (the default); 24 h at most")
      ->default_str("2h");
  service_it->callback([=, &code] {
    given->lasting = given->lasting.empty() ? "2h" : given->lasting;
    code = service(*given);
  });

  CLI::App* away_it = add_for_station(
      app, "away", "Go away for a time: what to mend before, and less limewater until then",
      *given);
  away_it->add_option("--until", given->until, "2027-01-10 (noon UTC), or 2027-01-10T18:00:00Z")
      ->required();
  away_it->add_option("--leave", given->leave, "Share of the day's volume: 70%; else all of it");
  away_it->add_flag("--sure", given->sure, "Go although there is something to mend");
  away_it->callback([=, &code] { code = leave(*given); });

  CLI::App* back_it =
      add_for_station(app, "back", "Back before the time: the day's volume is as before", *given);
  back_it->callback([=, &code] { code = send(*given, station::name_of(station::Back{})); });
}

}  // namespace limegate::app
