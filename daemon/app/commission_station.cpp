#include "app/commission_station.h"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <thread>
#include <utility>

#include "app/exit_code.h"
#include "app/site_supply.h"
#include "care/advice.h"
#include "care/powder.h"
#include "chemistry/limewater.h"
#include "config/site_bounds.h"
#include "signal/day_course.h"
#include "station/command.h"
#include "station/settings.h"
#include "units/rfc3339.h"

namespace limegate::app {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using nlohmann::json;

constexpr auto kLookEvery = 250ms;

/// Half of the evaporation, bounded (care/advice.h), and never more than the file plans; one that
/// plans nothing yet leaves it to the keeper.
Millilitres first_volume_for(const config::Station& station) {
  const auto limewater = chemistry::saturated_limewater(care::kReactorAssumed);
  const auto each = limewater ? supply_of(station.site, *limewater, Millilitres{1.0})
                              : tl::unexpected(limewater.error());
  if (!each || !(each->alkalinity.count() > 0.0)) {
    return Millilitres{0.0};
  }
  const Millilitres first =
      care::first_volume_of({station.site.water, station.site.evaporation_per_day,
                             config::day_bound(station.site), each->alkalinity});
  const Millilitres planned = station.settings.plan.day_volume;
  const Millilitres volume = planned.count() > 0.0 ? std::min(first, planned) : first;
  return Millilitres{std::floor(volume.count())};
}

care::Plant plant_of(const config::Station& station) {
  return {station.site.water,
          station.site.evaporation_per_day,
          station.site.reactor_bore,
          station.settings.plan.pump_rate,
          station.settings.limits.settle,
          station.settings.pump_ends == station::RunEnds::by_board,
          first_volume_for(station)};
}

std::optional<WallTime> time_at(const json& object, const char* key) {
  const json text = object.is_object() ? object.value(key, json()) : json();
  return text.is_string() ? parse_rfc3339(text.get<std::string>()) : std::nullopt;
}

care::StationSays says_of(const json& state, WallTime now) {
  care::StationSays says;
  for (const json& hold : state.value("holds", json::array())) {
    says.holds.push_back(hold.value("code", std::string{}));
  }
  says.pump_confirmed_off = state.value("pump_confirmed_off", false);
  says.stirrer_confirmed_off = state.value("stirrer_confirmed_off", false);
  says.reference_known = state.value("reference_ph", json()).is_number();
  says.course_days =
      signal::DayCourse::kLearnedDays -
      state.value("usual_course_days_to_go", static_cast<int>(signal::DayCourse::kLearnedDays));
  if (const auto last = time_at(state.value("last_pulse", json()), "time")) {
    says.undosed = now - *last;
  }
  return says;
}

}  // namespace

bool CommissionStation::Shown::holds(std::string_view code) const {
  return std::find(says.holds.begin(), says.holds.end(), code) != says.holds.end();
}

CommissionStation::CommissionStation(Meant meant, Reached daemon, const config::Station& station)
    : meant_(std::move(meant)),
      daemon_(std::move(daemon)),
      plant_(plant_of(station)),
      run_most_(station::attended_most(station.settings)),
      stirs_itself_(station.settings.stirrer == station::StirrerKind::switched) {}

tl::expected<CommissionStation, int> CommissionStation::reach(const Meant& meant) {
  const auto config = config_of(meant);
  if (!config) {
    return tl::unexpected(config.error());
  }
  const auto station = station_meant(config->config, meant.station);
  if (!station) {
    complain(station.error() + ".\n");
    return tl::unexpected(static_cast<int>(kBadInput));
  }
  auto daemon = app::reach(meant);
  if (!daemon) {
    return tl::unexpected(daemon.error());
  }
  return CommissionStation{meant, std::move(*daemon), **station};
}

tl::expected<CommissionStation::Shown, int> CommissionStation::look() {
  const auto entries = entries_after(daemon_, 0);
  if (!entries) {
    return tl::unexpected(entries.error());
  }
  const auto state = station_shown(daemon_);
  if (!state) {
    return tl::unexpected(state.error());
  }
  const json ph = state->value("ph", json::object());
  const json run = state->value("attended_run", json());
  Shown shown;
  shown.book = standing_of(*entries);
  shown.now = time_at(*state, "time").value_or(WallTime{});
  shown.says = says_of(*state, shown.now);
  shown.says.pump_rate = plant_.pump_rate;
  shown.day_volume = Millilitres{state->value("day_volume_ml", 0.0)};
  if (run.is_object()) {
    shown.run_under_way = run.value("under_way", false);
    shown.ran = seconds_of(run.value("ran_s", 0.0));
  }
  if (const auto at = time_at(ph, "time"); at && ph.value("newest", json()).is_number()) {
    shown.shown_ph = Ph{ph["newest"].get<double>()};
    shown.shown_at = *at;
  }
  return shown;
}

tl::expected<CommissionStation::Shown, int> CommissionStation::watch(
    const std::function<bool(const Shown&)>& done) {
  for (auto shown = look();; shown = look()) {
    if (!shown || done(*shown)) {
      return shown;
    }
    std::this_thread::sleep_for(kLookEvery);
  }
}

tl::expected<bool, int> CommissionStation::command(const char* method, json params) {
  params["station"] = daemon_.station;
  const auto answer = daemon_.client.ask(method, params);
  if (!answer) {
    return tl::unexpected(failed(answer.error()));
  }
  return told(meant_, *answer);
}

tl::expected<bool, int> CommissionStation::record(const care::Written& row, Sure sure) {
  const auto accepted =
      command(station::name_of(station::WriteEntry{}), {{"what", row.what},
                                                        {"value", row.value},
                                                        {"unit", row.unit},
                                                        {"kit", row.kit},
                                                        {"sure", sure == Sure::yes}});
  if (accepted && *accepted && !all_written(daemon_)) {
    complain("It is not on the disk yet, so it may be lost. See limegate status.\n");
    return tl::unexpected(static_cast<int>(kNotConfirmed));
  }
  return accepted;
}

tl::expected<bool, int> CommissionStation::record(const care::StepTaken& taken) {
  return record({{},
                 std::string{care::kStepEntry},
                 std::string{care::name_of(taken.step)},
                 std::string{care::name_of(taken.how)},
                 taken.note});
}

}  // namespace limegate::app
