#include "config/parts_reader.h"

#include <chrono>

#include <fmt/format.h>

namespace limegate::config {
namespace {

void read_stir_cycle(TableReader& reader, Station& station) {
  dosing::StirCycle& stir = station.settings.plan.stir;
  // A tenth of a minute is no whole number of nanoseconds, and a timer counts whole steps.
  stir.run = std::chrono::round<std::chrono::milliseconds>(
      minutes_of(reader.number("run_min", {0.5, 30, "longer wears the stirrer"}, 15)));
  stir.every = minutes_of(reader.number("every_min", {30, 1440}, 120));
  if (stir.run * 4 > stir.every) {
    reader.complain("run_min", fmt::format("{:.4g} min of every {:.4g} min is more than 25 % of "
                                           "the day; stir at most {:.1f} min",
                                           in_minutes(stir.run), in_minutes(stir.every),
                                           in_minutes(stir.every) / 4));
  }
}

/// A board's timer counts whole steps, and rounding a run would be a run that nobody asked for.
void check_stir_steps(TableReader& reader, Duration run, Duration step) {
  if (run > modbus::longest(step)) {
    reader.complain(
        "timed_on_step_ms",
        fmt::format("the board's timer counts {} steps at most: {:.1f} min, and the stirrer is to "
                    "run for {:.1f} min. Lower run_min, or set the board to longer steps",
                    modbus::kTimerSteps, in_minutes(modbus::longest(step)), in_minutes(run)));
  } else if (run % step != Duration::zero()) {
    reader.complain(
        "run_min",
        fmt::format("{:.2f} min are no whole number of the timer's steps of {:.1f} s; the nearest "
                    "are {:.4g} and {:.4g}",
                    in_minutes(run), in_minutes(step) * 60, in_minutes(run / step * step),
                    in_minutes((run / step + 1) * step)));
  }
}

void read_rate_measured(TableReader& pump, Station& station) {
  station.rate_measured = pump.maybe_date("rate_measured");
  station.settings.pump_rate_dated = station.rate_measured.has_value();
}

/// What people and seasons do to a simulated tank.
void read_habits(TableReader& reader, const Station& station,
                 simulator::AquariumSettings::Habits& habits) {
  habits.water_change = Percent{
      reader.number("water_change_percent", {0, 50, "of the water"}, habits.water_change.count())};
  habits.water_change_days =
      static_cast<int>(reader.integer("water_change_days", 1, 60, habits.water_change_days));
  habits.feeding = MicromolPerKg{
      reader.number("feeding_umol_kg", {0, 200, "of CO2, each meal"}, habits.feeding.count())};
  habits.feedings_per_day =
      static_cast<int>(reader.integer("feedings_per_day", 1, 8, habits.feedings_per_day));
  habits.skimmate_per_day = Millilitres{reader.number(
      "skimmate_ml_per_day", {0, station.site.water.count() * 10, "a hundredth of the water"},
      habits.skimmate_per_day.count())};
  habits.season_swing =
      reader.number("evaporation_season_percent", {0, 50, "either way about its mean"},
                    habits.season_swing * 100.0) /
      100.0;
}

}  // namespace

void read_simulation(TableReader& reader, Station& station) {
  simulator::TankSettings& tank = station.tank;
  simulator::AquariumSettings& water = tank.aquarium;
  tank.seed = static_cast<std::uint64_t>(reader.integer("seed", 0, 1000000000, 1));
  tank.ph_noise = reader.number("ph_noise", {0, 0.1}, tank.ph_noise);
  water.ph = Ph{reader.number("ph", {7.8, 8.5}, water.ph.count())};
  water.temperature = Celsius{reader.number("temperature_c", {20, 30}, water.temperature.count())};
  water.salinity = Salinity{reader.number("salinity", {30, 38}, water.salinity.count())};
  water.alkalinity = Dkh{reader.number("alkalinity_dkh", {5, 12}, water.alkalinity.count())};
  water.calcium = MgPerLitre{reader.number("calcium_mg_l", {300, 500}, water.calcium.count())};
  water.demand_per_day =
      Dkh{reader.number("demand_dkh_per_day", {0, 4}, water.demand_per_day.count())};
  water.respiration_per_h = MicromolPerKg{
      reader.number("respiration_umol_kg_h", {0, 40}, water.respiration_per_h.count())};
  water.room_co2_ppm = reader.number("room_co2_ppm", {350, 2000}, water.room_co2_ppm);
  water.gas_exchange_per_h = reader.number("gas_exchange_per_h", {0, 20}, water.gas_exchange_per_h);
  tank.reactor.powder_g = reader.number("powder_g", {0, 100000}, tank.reactor.powder_g);
  tank.reactor.temperature =
      Celsius{reader.number("room_temperature_c", {5, 35}, tank.reactor.temperature.count())};
  tank.reactor.layers =
      static_cast<int>(reader.integer("reactor_layers", 1, 20, tank.reactor.layers));
  read_habits(reader, station, water.habits);
  reader.finish();
}

void read_wiring(TableReader& reader, WiringReader& wiring, Station& station) {
  using Conversion = modbus::ProbeSettings::Conversion;
  Wiring wired;
  TableReader ph = reader.table("ph");
  wired.ph = wiring.probe(ph);
  station.settings.ph.resolution = ph.number("resolution", {0.0001, 0.1}, 0.01);
  ph.finish();
  if (reader.has("second_ph")) {
    TableReader second = reader.table("second_ph");
    wired.second_ph = wiring.probe(second);
    station.settings.second_ph.emplace().resolution =
        second.number("resolution", {0.0001, 0.1}, 0.01);
    second.finish();
  }
  TableReader temperature = reader.table("temperature");
  wired.temperature = wiring.probe(temperature);
  if (temperature.flag("fahrenheit", false)) {
    wired.temperature.probe.conversion = Conversion::fahrenheit_to_celsius;
  }
  station.settings.temperature.resolution = temperature.number("resolution", {0.001, 1}, 0.1);
  temperature.finish();
  TableReader pump = reader.table("pump");
  wired.pump = wiring.outlet(pump);
  station.settings.pump_ends =
      wired.pump.outlet.timed_on ? station::RunEnds::by_board : station::RunEnds::by_us;
  if (const auto& timer = wired.pump.outlet.timed_on) {
    station.settings.plan.timer_step = timer->step;
  }
  station.settings.plan.pump_rate = MillilitresPerMinute{
      pump.number("rate_ml_per_min", {0.1, 2000, "the highest rate it can reach, as measured"})};
  read_rate_measured(pump, station);
  pump.finish();
  TableReader stirrer = reader.table("stirrer");
  station.settings.stirrer = stirrer.choice<station::StirrerKind>(
      "mode",
      {{"switched", station::StirrerKind::switched}, {"observed", station::StirrerKind::observed}});
  if (stirrer.told_of("mode")) {
    stirrer.leave();
  } else if (station.settings.stirrer == station::StirrerKind::switched) {
    wired.stirrer_outlet = wiring.outlet(stirrer);
  } else {
    wired.stirrer_input = wiring.input(stirrer);
  }
  read_stir_cycle(stirrer, station);
  if (wired.stirrer_outlet && wired.stirrer_outlet->outlet.timed_on) {
    check_stir_steps(stirrer, station.settings.plan.stir.run,
                     wired.stirrer_outlet->outlet.timed_on->step);
  }
  stirrer.finish();
  station.wiring = wired;
}

void read_simulated_parts(TableReader& reader, Station& station) {
  station.settings.ph.resolution = 0.001;
  station.settings.temperature.resolution = 0.01;
  if (reader.flag("second_ph", false)) {
    station.settings.second_ph.emplace().resolution = station.settings.ph.resolution;
  }
  TableReader pump = reader.table("pump");
  station.settings.plan.pump_rate =
      MillilitresPerMinute{pump.number("rate_ml_per_min", {0.1, 2000})};
  read_rate_measured(pump, station);
  pump.finish();
  TableReader stirrer = reader.table("stirrer");
  read_stir_cycle(stirrer, station);
  stirrer.finish();
}

}  // namespace limegate::config
