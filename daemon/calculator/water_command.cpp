#include <memory>

#include <CLI/CLI.hpp>

#include "calculator/report.h"
#include "calculator/subcommands.h"
#include "calculator/water_input.h"
#include "calculator/water_verdict.h"
#include "chemistry/keeper_units.h"

namespace limegate::calculator {
namespace {

struct Options {
  WaterOptions water;
  bool json = false;
};

std::vector<Row> rows_of(const SolvedWater& water) {
  const chemistry::CarbonateState& s = water.state;
  const KgPerLitre density = water.constants.density;
  return {
      {"ph_total", "pH, total scale", s.ph_total.count(), "", 3},
      {"ph_nbs", "pH, NBS scale (a probe's)", s.ph_nbs.count(), "", 3},
      {"ph_free", "pH, free scale", s.ph_free.count(), "", 3},
      {"ph_sws", "pH, seawater scale", s.ph_seawater.count(), "", 3},
      {"alkalinity_umol_kg", "alkalinity", s.alkalinity.count(), "umol/kg", 1},
      {"alkalinity_dkh", "alkalinity, per litre",
       chemistry::to_dkh(chemistry::to_meq_per_litre(s.alkalinity, density)).count(), "dKH", 2},
      {"dic_umol_kg", "dissolved inorganic carbon", s.dissolved_carbon.count(), "umol/kg", 1},
      {"pco2_uatm", "CO2 partial pressure", s.co2_pressure.count(), "uatm", 1},
      {"fco2_uatm", "CO2 fugacity", s.co2_fugacity.count(), "uatm", 1},
      {"co2_umol_kg", "CO2", s.co2.count(), "umol/kg", 2},
      {"hco3_umol_kg", "bicarbonate", s.bicarbonate.count(), "umol/kg", 1},
      {"co3_umol_kg", "carbonate", s.carbonate.count(), "umol/kg", 1},
      {"borate_umol_kg", "borate", s.borate.count(), "umol/kg", 1},
      {"omega_aragonite", "omega aragonite", s.omega_aragonite, "", 2},
      {"omega_calcite", "omega calcite", s.omega_calcite, "", 2},
      {"calcium_umol_kg", "calcium", s.calcium.count(), "umol/kg", 0},
      {"calcium_mg_l", "calcium, per litre", chemistry::to_mg_per_litre(s.calcium, density).count(),
       "mg/L", 1},
      {"rise_per_meq_kg", "pH rise per meq/kg of alkalinity", s.rise_per_micromol.count() * 1000.0,
       "", 3},
      {"salinity", "salinity", water.constants.salinity.count(), "", 2},
      {"temperature_c", "temperature", water.constants.temperature.count(), "C", 2},
      {"density_kg_l", "density", density.count(), "kg/L", 5},
      {"verdict", "verdict", verdict_on(water), "", 0},
  };
}

int run(const Options& options) {
  const auto water = solve(options.water);
  if (!water) {
    return fail("water", water.error());
  }
  print(rows_of(*water), options.json ? Output::json : Output::table);
  return 0;
}

}  // namespace

void add_water(CLI::App& app, int& exit_code) {
  const auto options = std::make_shared<Options>();
  CLI::App* command = app.add_subcommand("water", "what the water is: its carbonate system");
  add_water_options(*command, options->water);
  command->add_flag("--json", options->json, "one JSON object instead of a table");
  command->footer(
      "Example, with what a keeper measures:\n"
      "  limegate water --salinity 35 --temperature 25C --alkalinity 8.2dKH --ph 8.2 --scale nbs\n"
      "A probe calibrated in ordinary buffers reads the NBS scale; science uses the total scale.\n"
      "At salinity 35 the NBS scale reads 0.14 more, and the probe's junction adds up to 0.05\n"
      "either way: what is worked out from such a probe is an estimate.");
  command->callback([options, &exit_code] { exit_code = run(*options); });
}

}  // namespace limegate::calculator
