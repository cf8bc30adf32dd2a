#include <memory>

#include <CLI/CLI.hpp>
#include <fmt/format.h>

#include "calculator/inputs.h"
#include "calculator/limewater_input.h"
#include "calculator/report.h"
#include "calculator/subcommands.h"
#include "calculator/water_input.h"
#include "chemistry/dose.h"
#include "chemistry/keeper_units.h"

namespace limegate::calculator {
namespace {

using chemistry::Limewater;

struct Options {
  WaterOptions water;
  std::string limewater;
  LimewaterOptions of;
  std::string volume;
  std::string rise_max = "0.02";
  std::string omega_max = "7";
  std::string per_day;
  std::string evaporation;
  bool json = false;
};

Input<chemistry::DoseLimits> limits_of(const Options& options) {
  const auto rise = parse_number("--rise-max", options.rise_max);
  if (!rise) {
    return refuse(rise.error());
  }
  const auto omega = parse_number("--omega-max", options.omega_max);
  if (!omega) {
    return refuse(omega.error());
  }
  return chemistry::DoseLimits{PhTotalChange{*rise}, *omega};
}

/// The figures of one dose.
Input<std::vector<Row>> dose_rows(const Options& options, const SolvedWater& water, Litres volume,
                                  const Limewater& limewater) {
  if (options.limewater.empty()) {
    return refuse(
        "--limewater is missing; for example --limewater 5mL/L, or --limewater 400mL "
        "with --volume 800L");
  }
  const auto dose = parse_dose("--limewater", options.limewater, volume);
  if (!dose) {
    return refuse(dose.error());
  }
  if (options.volume.empty() && !plain(options.limewater).ends_with("ml/l")) {
    return refuse("--limewater in anything but mL/L needs the tank's --volume, for example 800L");
  }
  const auto limits = limits_of(options);
  if (!limits) {
    return refuse(limits.error());
  }
  const auto tank = in_words(chemistry::tank_of(volume, water.constants, water.state, water.boron));
  if (!tank) {
    return refuse(tank.error());
  }
  const auto effect = chemistry::effect_of(*tank, limewater, *dose);
  if (!effect) {
    return refuse(sentence(effect.error()) + ", with this dose");
  }
  const auto largest = in_words(chemistry::largest_dose(*tank, limewater, *limits));
  if (!largest) {
    return refuse(largest.error());
  }
  const auto response = in_words(chemistry::rise_per_millilitre(*tank, limewater));
  if (!response) {
    return refuse(response.error());
  }
  const chemistry::CarbonateState& after = effect->after;
  return std::vector<Row>{
      {"volume_l", "tank", volume.count(), "L", 1},
      {"dose_ml", "dose", dose->count(), "mL", 2},
      {"delta_ph", "pH change, closed system", effect->rise.count(), "", 4},
      {"ph_total_after", "pH after, total scale", after.ph_total.count(), "", 3},
      {"ph_nbs_after", "pH after, NBS scale (a probe's)", after.ph_nbs.count(), "", 3},
      {"alkalinity_after_umol_kg", "alkalinity after", after.alkalinity.count(), "umol/kg", 1},
      {"dic_after_umol_kg", "dissolved carbon after", after.dissolved_carbon.count(), "umol/kg", 1},
      {"calcium_after_umol_kg", "calcium after", after.calcium.count(), "umol/kg", 0},
      {"omega_aragonite_after", "omega aragonite after", after.omega_aragonite, "", 2},
      {"rise_per_ml", "pH rise per mL, small doses", response->count(), "", 6},
      {"rise_max", "limit of the rise for the largest dose", limits->rise_max.count(), "", 3},
      {"omega_aragonite_max", "limit of omega for the largest dose", limits->omega_aragonite_max,
       "", 1},
      {"largest_dose_ml", "largest dose within both limits", largest->count(), "mL", 2}};
}

/// The steady view: a day's limewater in place of evaporation.
Input<std::vector<Row>> daily_rows(const Options& options, Litres volume,
                                   const Limewater& limewater) {
  if (options.per_day.empty() && options.evaporation.empty()) {
    return std::vector<Row>{};
  }
  if (options.per_day.empty() || options.evaporation.empty() || options.volume.empty()) {
    return refuse(
        "--per-day, --evaporation and --volume go together; for example --per-day 4L "
        "--evaporation 8L --volume 800L");
  }
  const auto per_day = parse_volume("--per-day", options.per_day);
  if (!per_day) {
    return refuse(per_day.error());
  }
  const auto evaporation = parse_volume("--evaporation", options.evaporation);
  if (!evaporation) {
    return refuse(evaporation.error());
  }
  return in_words(
             chemistry::daily_addition(volume, limewater, to_millilitres(*per_day), *evaporation))
      .map([](const chemistry::DailyAddition& day) {
        return std::vector<Row>{
            {"alkalinity_per_day_dkh", "alkalinity a day", day.alkalinity.count(), "dKH", 3},
            {"calcium_per_day_mg_l", "calcium a day", day.calcium.count(), "mg/L", 2},
            {"evaporation_share_percent", "share of evaporation (above 100 % the tank floods)",
             day.share_of_evaporation.count(), "%", 1}};
      });
}

int run(const Options& options) {
  const auto water = solve(options.water);
  if (!water) {
    return fail("effect", water.error());
  }
  const auto volume = parse_volume("--volume", options.volume.empty() ? "1L" : options.volume);
  if (!volume) {
    return fail("effect", volume.error());
  }
  const auto limewater = limewater_of(options.of, water->constants.temperature);
  if (!limewater) {
    return fail("effect", limewater.error());
  }
  auto rows = dose_rows(options, *water, *volume, *limewater);
  if (!rows) {
    return fail("effect", rows.error());
  }
  const auto daily = daily_rows(options, *volume, *limewater);
  if (!daily) {
    return fail("effect", daily.error());
  }
  rows->insert(rows->end(), daily->begin(), daily->end());
  const std::vector<Row> remark = remark_on(*limewater);
  rows->insert(rows->end(), remark.begin(), remark.end());
  return answer("effect", rows, options.json ? Output::json : Output::table);
}

}  // namespace

void add_effect(CLI::App& app, int& exit_code) {
  const auto options = std::make_shared<Options>();
  CLI::App* command = app.add_subcommand("effect", "what a dose will do, before it is given");
  add_water_options(*command, options->water);
  command->add_option("--limewater", options->limewater, "the dose: 5mL/L, or 400mL with --volume");
  command->add_option("--volume", options->volume,
                      "water in the tank: 800L or 210gal; without it, figures are for one litre");
  add_limewater_options(*command, options->of);
  command->add_option(
      "--rise-max", options->rise_max,
      "largest dose: most that pH may rise; 0.02 unless given, the limit of a pulse");
  command->add_option("--omega-max", options->omega_max,
                      "largest dose: most that omega aragonite may be; 7 unless given, above which "
                      "alkalinity is lost to precipitation (Moras et al. 2022)");
  command->add_option("--per-day", options->per_day,
                      "limewater of a whole day, in place of evaporation: 4L");
  command->add_option("--evaporation", options->evaporation, "evaporation of a day: 8L");
  command->add_flag("--json", options->json, "one JSON object instead of a table");
  command->footer(
      "Example, 400 mL at once and 4 L over a day in a tank of 800 L:\n"
      "  limegate effect --salinity 35 --temperature 25.5C --alkalinity 8.2dKH --ph 8.2 --scale "
      "nbs \\\n"
      "    --limewater 400mL --volume 800L --reactor-temperature 23C --per-day 4L --evaporation "
      "8L\n"
      "The dose mixes at once into a closed tank: no CO2 comes from the air, nothing "
      "precipitates,\n"
      "and the tank's temperature stays. Over a day, air makes up for much of the rise.");
  command->callback([options, &exit_code] { exit_code = run(*options); });
}

}  // namespace limegate::calculator
