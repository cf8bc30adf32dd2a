// Runs the calculator as a keeper would and reads what it prints.

#include <array>
#include <cmath>
#include <cstdio>
#include <string>
#include <vector>

#include <CLI/CLI.hpp>
#include <gtest/gtest.h>
#include <nlohmann/json.hpp>
#include <sys/wait.h>

#include "calculator/commands.h"
#include "support/csv_table.h"
#include "support/places.h"

namespace limegate::calculator {
namespace {

using limegate::testing::CsvRow;
using limegate::testing::number;
using limegate::testing::read_csv;

struct Answer {
  int exit_code = -1;
  std::string text;
};

Answer run_shell(const std::string& command) {
  Answer answer;
  FILE* pipe = popen(command.c_str(), "r");
  if (pipe == nullptr) {
    return answer;
  }
  std::array<char, 4096> part{};
  for (std::size_t n = 0; (n = std::fread(part.data(), 1, part.size(), pipe)) > 0;) {
    answer.text.append(part.data(), n);
  }
  const int status = pclose(pipe);
  answer.exit_code = WIFEXITED(status) ? WEXITSTATUS(status) : -1;
  return answer;
}

Answer printed(const std::string& arguments) {
  return run_shell(test::limegate_path() + " " + arguments + " 2>/dev/null");
}
Answer complained(const std::string& arguments) {
  return run_shell(test::limegate_path() + " " + arguments + " 2>&1 >/dev/null");
}

/// The same without a start of the program: hundreds of rows go this way.
Answer printed_here(const std::string& arguments) {
  CLI::App app;
  Answer answer;
  add_commands(app, answer.exit_code);
  ::testing::internal::CaptureStdout();
  try {
    app.parse(arguments);
  } catch (const CLI::ParseError& error) {
    ADD_FAILURE() << error.what() << ": " << arguments;
  }
  answer.text = ::testing::internal::GetCapturedStdout();
  return answer;
}

/// The JSON that a command prints; an empty object, and a failure, where it does not.
nlohmann::json json_of(const std::string& arguments) {
  const Answer answer = printed_here(arguments + " --json");
  EXPECT_EQ(answer.exit_code, 0) << arguments;
  auto json = nlohmann::json::parse(answer.text, nullptr, false);
  EXPECT_TRUE(json.is_object()) << answer.text;
  return json.is_object() ? json : nlohmann::json::object();
}

double at(const nlohmann::json& json, const std::string& key) {
  EXPECT_TRUE(json.contains(key)) << key;
  return json.value(key, std::nan(""));
}

// tests/data/carbonate_points.csv, every row, through the command line. Tolerances of the issue.
TEST(WaterCommand, answers_every_reference_point) {
  for (const CsvRow& row : read_csv("carbonate_points.csv")) {
    const auto json =
        json_of("water --salinity " + row.at("S") + " --temperature " + row.at("T_C") +
                "C --alkalinity " + row.at("TA") + "umol/kg --ph " + row.at("pH_in") + " --scale " +
                (row.at("in_scale") == "N" ? "nbs" : "total"));
    EXPECT_NEAR(at(json, "ph_total"), number(row, "pH_total"), 0.0005);
    EXPECT_NEAR(at(json, "ph_nbs"), number(row, "pH_nbs"), 0.0005);
    EXPECT_NEAR(at(json, "ph_free"), number(row, "pH_free"), 0.0005);
    EXPECT_NEAR(at(json, "ph_sws"), number(row, "pH_sws"), 0.0005);
    EXPECT_NEAR(at(json, "alkalinity_umol_kg"), number(row, "TA"), 1e-6);
    EXPECT_NEAR(at(json, "dic_umol_kg") / number(row, "DIC"), 1.0, 0.0006);
    EXPECT_NEAR(at(json, "pco2_uatm") / number(row, "pCO2"), 1.0, 0.001);
    EXPECT_NEAR(at(json, "hco3_umol_kg") / number(row, "HCO3"), 1.0, 0.001);
    EXPECT_NEAR(at(json, "co3_umol_kg") / number(row, "CO3"), 1.0, 0.001);
    EXPECT_NEAR(at(json, "omega_aragonite") / number(row, "OmegaAr"), 1.0, 0.001);
    EXPECT_NEAR(at(json, "omega_calcite") / number(row, "OmegaCa"), 1.0, 0.001);
    EXPECT_NEAR(at(json, "calcium_umol_kg"), number(row, "Ca"), 0.01);
    EXPECT_NEAR(at(json, "density_kg_l") * 1000.0, number(row, "rho_kg_m3"), 0.05);
  }
}

TEST(WaterCommand, takes_every_scale_and_dissolved_carbon_to_the_same_answer) {
  const std::string water = "water --salinity 35 --temperature 25C --alkalinity 2300umol/kg ";
  const auto json = json_of(water + "--ph 8.1 --scale total");
  for (const auto& [scale, key] :
       {std::pair{"nbs", "ph_nbs"}, std::pair{"free", "ph_free"}, std::pair{"sws", "ph_sws"}}) {
    const auto other =
        json_of(water + "--ph " + std::to_string(at(json, key)) + " --scale " + scale);
    EXPECT_NEAR(at(other, "ph_total"), 8.1, 1e-6) << scale;
  }
  const auto carbon = json_of(water + "--dic 1967.145623umol/kg");
  EXPECT_NEAR(at(carbon, "ph_total"), 8.1, 1e-6);
}

// tests/data: the Lee columns, and a calcium of 420 mg/L by hand: 420 / 40.078 / 1.02334 x 1e6 /
// 1e3.
TEST(WaterCommand, takes_another_boron_and_a_measured_calcium) {
  const std::string water =
      "water --salinity 35 --temperature 25C --alkalinity 2300umol/kg --ph 8.1 --scale total ";
  EXPECT_NEAR(at(json_of(water + "--boron lee"), "dic_umol_kg"), 1963.485874, 1e-4);
  EXPECT_NEAR(at(json_of(water + "--calcium 420mg/L"), "calcium_umol_kg"), 10240.5, 0.5);
}

TEST(WaterCommand, takes_the_units_that_keepers_have) {
  const auto json = json_of(
      "water --salinity 53.071032mS/cm --temperature 77F --alkalinity 6.5994dKH --ph 8.1 "
      "--scale total");
  EXPECT_NEAR(at(json, "salinity"), 35.0, 0.001);
  EXPECT_NEAR(at(json, "temperature_c"), 25.0, 1e-9);
  EXPECT_NEAR(at(json, "alkalinity_umol_kg"), 2300.0, 0.1);
  const auto gravity = json_of(
      "water --salinity 1.0264SG --temperature 298.15K --alkalinity '2.354 meq/L' --ph 8.1 "
      "--scale TOTAL");
  EXPECT_NEAR(at(gravity, "salinity"), 35.0, 0.05);
  EXPECT_NEAR(at(gravity, "alkalinity_umol_kg"), 2300.0, 0.5);
}

// tests/data/limewater_additions.csv, every row but the starts, through the command line.
TEST(EffectCommand, answers_every_reference_addition) {
  for (const CsvRow& row : read_csv("limewater_additions.csv")) {
    const auto json = json_of(
        "effect --salinity 35 --temperature 25.5C --scale total --strength 20.3mmol/kg "
        "--alkalinity " +
        row.at("TA0") + "umol/kg --ph " + row.at("pH_total0") + " --limewater " +
        row.at("X_mL_per_L") + "mL/L");
    EXPECT_NEAR(at(json, "delta_ph"), number(row, "dpH_total"), 0.0005);
    EXPECT_NEAR(at(json, "ph_total_after"), number(row, "pH_total"), 0.0005);
    EXPECT_NEAR(at(json, "ph_nbs_after"), number(row, "pH_nbs"), 0.0005);
    EXPECT_NEAR(at(json, "alkalinity_after_umol_kg"), number(row, "TA"), 0.5);
    EXPECT_NEAR(at(json, "dic_after_umol_kg"), number(row, "DIC"), 0.1);
    EXPECT_NEAR(at(json, "omega_aragonite_after") / number(row, "OmegaAr"), 1.0, 0.001);
    EXPECT_GE(at(json, "largest_dose_ml"), 0.0);
  }
}

TEST(EffectCommand, largest_dose_given_back_reaches_its_limit) {
  const std::string effect =
      "effect --salinity 35 --temperature 25.5C --alkalinity 2800umol/kg --ph 8.1 --scale nbs "
      "--strength 20.3mmol/kg --volume 800L --rise-max 0.08 ";
  const double largest = at(json_of(effect + "--limewater 100mL"), "largest_dose_ml");
  const auto json = json_of(effect + "--limewater " + std::to_string(largest) + "mL");
  EXPECT_NEAR(at(json, "delta_ph"), 0.08, 1e-6);
}

// The worked day of tests/chemistry/dose_test.cpp: 4 L into 800 L is 0.569 dKH and 4.07 mg/L a day.
TEST(EffectCommand, shows_the_steady_view_of_a_day) {
  const auto json = json_of(
      "effect --salinity 35 --temperature 25.5C --alkalinity 8dKH --ph 8.2 --scale nbs "
      "--limewater 50mL --volume 800L --reactor-temperature 25C --per-day 4L --evaporation 8L");
  EXPECT_NEAR(at(json, "alkalinity_per_day_dkh"), 0.569, 0.001);
  EXPECT_NEAR(at(json, "calcium_per_day_mg_l"), 4.07, 0.01);
  EXPECT_NEAR(at(json, "evaporation_share_percent"), 50.0, 1e-9);
}

TEST(EffectCommand, spoiled_limewater_does_less) {
  const std::string effect =
      "effect --salinity 35 --temperature 25.5C --alkalinity 8dKH --ph 8.2 --scale nbs "
      "--limewater 2mL/L --reactor-temperature 25C ";
  const double fresh = at(json_of(effect), "delta_ph");
  const double stale = at(json_of(effect + "--spoiled 50%"), "delta_ph");
  EXPECT_GT(stale, 0.4 * fresh);
  EXPECT_LT(stale, 0.6 * fresh);
}

// Shared trade figures at 25 degC: 40.6 meq/L and 814 mg/L; Bates, Bower & Smith 1956: pH 12.45;
// 8.1 mS/cm by computation.
TEST(StrengthCommand, tells_what_saturated_limewater_is) {
  const auto json = json_of("strength --temperature 25C");
  EXPECT_NEAR(at(json, "calcium_hydroxide_mmol_kg"), 20.32, 0.02);
  EXPECT_NEAR(at(json, "alkalinity_meq_l"), 40.6, 0.05);
  EXPECT_NEAR(at(json, "calcium_mg_l"), 814.0, 1.0);
  EXPECT_NEAR(at(json, "ph"), 12.45, 0.03);
  EXPECT_NEAR(at(json, "conductivity_ms_cm"), 8.1, 0.1);
  // tests/data/limewater_strength.csv, column handbook_lange_mmol at 20 and 25 degC.
  EXPECT_NEAR(at(json, "spread_percent"), 10.4, 0.05);
  EXPECT_NEAR(at(json_of("strength --temperature 20C"), "spread_percent"), 11.7, 0.05);
  EXPECT_FALSE(json.contains("remark")) << json;
}

TEST(StrengthCommand, remarks_on_more_than_can_dissolve) {
  const auto json = json_of("strength --temperature 25C --conductivity 10.9mS/cm");
  EXPECT_GT(at(json, "saturation_percent"), 140.0);
  EXPECT_NE(json.value("remark", "").find("More than can dissolve"), std::string::npos) << json;
  const auto within = json_of("strength --temperature 25C --conductivity 8.4mS/cm");
  EXPECT_NE(within.value("remark", "").find("within"), std::string::npos) << within;
}

// Saturated limewater holds about 20.3 mmol/kg at 25 degrees (Bates, Bower & Smith 1956).
TEST(EffectCommand, remarks_on_a_strength_that_no_limewater_has) {
  const std::string effect =
      "effect --salinity 35 --temperature 25C --alkalinity 8dKH --ph 8.2 --scale nbs "
      "--limewater 1mL/L --reactor-temperature 25C --strength ";
  const std::string demand =
      "demand --volume 800L --alkalinity 0.6dKH --reactor-temperature 25C --strength ";
  for (const std::string& command : {effect, demand}) {
    EXPECT_FALSE(json_of(command + "20.3mmol/kg").contains("remark")) << command;
    EXPECT_FALSE(json_of(command + "21mmol/kg").contains("remark")) << "handbooks differ by more";
    EXPECT_NE(json_of(command + "26mmol/kg").value("remark", "").find("is the unit right"),
              std::string::npos)
        << command;
  }
}

// Shared trade figures: 4 L of saturated limewater of 25 degC into 800 L are 0.569 dKH and 4.07
// mg/L a day (tests/chemistry/dose_test.cpp). Powder by hand: 0.020355 mol/kg x 0.99897 kg/L x 4 L
// x 74.093 g/mol = 6.02 g.
TEST(DemandCommand, goes_from_demand_to_volume_and_back) {
  const auto day = json_of(
      "demand --volume 800L --per-day 4L --reactor-temperature 25C --evaporation 8L --charge 120g");
  EXPECT_NEAR(at(day, "alkalinity_per_day_dkh"), 0.569, 0.001);
  EXPECT_NEAR(at(day, "calcium_per_day_mg_l"), 4.07, 0.01);
  EXPECT_NEAR(at(day, "powder_g_per_day"), 6.02, 0.02);
  EXPECT_NEAR(at(day, "charge_days"), 120.0 / 6.02, 0.1);
  EXPECT_NEAR(at(day, "evaporation_share_percent"), 50.0, 1e-9);
  for (const auto& [unit, per_dkh] :
       {std::pair{"dKH", 1.0}, std::pair{"meq/L", 0.35665}, std::pair{"mg/LCaCO3", 17.848},
        std::pair{"umol/kg", 348.5}}) {
    const std::string amount = std::to_string(at(day, "alkalinity_per_day_dkh") * per_dkh);
    const auto back = json_of("demand --volume 800L --alkalinity " + amount + unit +
                              " --reactor-temperature 25C");
    EXPECT_NEAR(at(back, "per_day_ml"), 4000.0, 1.0) << unit;
    EXPECT_FALSE(back.contains("charge_days"));
  }
  const auto spoiled =
      json_of("demand --volume 800L --alkalinity 0.569dKH --reactor-temperature 25C --spoiled 50%");
  EXPECT_NEAR(at(spoiled, "per_day_ml"), 8000.0, 15.0) << "twice as much of half the strength";
  EXPECT_NEAR(at(spoiled, "powder_g_per_day"), 12.04, 0.04) << "what spoiled was powder, too";
}

/// What `water` says in the end, of salinity 35 and 25 degC unless it is told otherwise.
std::string verdict(const std::string& water) {
  return json_of("water --temperature 25C " + water).value("verdict", "");
}

// The usual ranges are common practice.
TEST(WaterCommand, ends_in_a_verdict_for_a_keeper) {
  EXPECT_EQ(verdict("--salinity 35 --alkalinity 8.2dKH --ph 8.2 --scale nbs --calcium 420mg/L"),
            "As usual in a reef aquarium.");
  const std::string low =
      verdict("--salinity 35 --alkalinity 5dKH --ph 8.2 --scale nbs --calcium 350mg/L");
  EXPECT_NE(low.find("alkalinity 5.00 dKH is low (usual 7 to 11)"), std::string::npos) << low;
  EXPECT_NE(low.find("calcium 350 mg/L is low (usual 380 to 460)"), std::string::npos) << low;
  EXPECT_NE(low.find("does not correct"), std::string::npos) << low;
  const std::string high = verdict("--salinity 35 --alkalinity 7.1dKH --ph 8.52 --scale nbs");
  EXPECT_NE(high.find("pH (NBS) 8.52 is high"), std::string::npos) << high;
  EXPECT_NE(high.find("give none"), std::string::npos) << high;
  // Moras et al. 2022: runaway precipitation above omega 7.
  const std::string chalk = verdict("--salinity 35 --alkalinity 12dKH --ph 8.6 --scale nbs");
  EXPECT_NE(chalk.find("above 7"), std::string::npos) << chalk;
  EXPECT_EQ(chalk.find("less limewater"), std::string::npos) << chalk;
  const std::string brackish = verdict("--salinity 22 --alkalinity 8dKH --ph 8.2 --scale nbs");
  EXPECT_NE(brackish.find("no reef's seawater"), std::string::npos) << brackish;
}

TEST(StrengthCommand, takes_a_conductivity_and_the_reading_when_saturated) {
  const auto json =
      json_of("strength --temperature 25C --conductivity 9.1mS/cm --saturated-reading 9.1mS/cm");
  EXPECT_NEAR(at(json, "saturation_percent"), 100.0, 1e-6);
  EXPECT_LT(
      at(json_of("strength --temperature 25C --conductivity 4000uS/cm"), "saturation_percent"),
      50.0);
  EXPECT_NEAR(at(json_of("strength --temperature 25C --spoiled 10%"), "saturation_percent"), 90.0,
              1e-6);
}

struct ConvertCase {
  const char* name;
  const char* arguments;
  double value;
  double tolerance;
  const char* unit;
};
// NOLINTNEXTLINE(readability-identifier-naming): gtest's name
void PrintTo(const ConvertCase& c, std::ostream* out) { *out << c.name; }

const ConvertCase kConversions[] = {
    // Shared trade figures: 1 dKH = 0.35665 meq/L = 17.848 ppm CaCO3; 1 meq/L = 2.8039 dKH.
    {"dkh_to_meq", "8.2dKH --to meq/L", 8.2 * 0.35665, 5e-5, "meq/L"},
    {"dkh_to_ppm", "1dKH --to ppm", 17.848, 5e-4, "ppm"},
    {"meq_to_dkh", "1meq/L --to dKH", 2.8039, 5e-5, "dKH"},
    {"ppm_to_dkh", "17.848ppm --to dKH", 1.0, 5e-5, "dKH"},
    {"ppm_of_calcium", "420ppm --to mg/L", 420.0, 1e-9, "mg/L"},
    {"amount_per_kg", "2.3mmol/kg --to umol/kg --salinity 35 --temperature 25C", 2300.0, 1e-6,
     "umol/kg"},
    {"microsiemens", "53.1mS/cm --to uS/cm", 53100.0, 1e-6, "uS/cm"},
    // 1 dKH is 0.35665 meq/L, and 1 meq/L 1000 ueq/L.
    {"micro_equivalents", "1dKH --to ueq/L", 356.65, 0.05, "ueq/L"},
    {"chalk_by_mass", "1dKH --to mg/LCaCO3", 17.848, 5e-4, "mg/LCaCO3"},
    {"mmol_to_ppm", "1mmol/L --to ppmCaCO3", 50.04, 5e-3, "ppmCaCO3"},
    // 2300 umol/kg x 1.02334 kg/L = 2.35368 meq/L.
    {"per_kg_to_per_litre", "2300umol/kg --to meq/L --salinity 35 --temperature 25C", 2.35368, 5e-5,
     "meq/L"},
    {"per_litre_to_per_kg", "2.35368meq/L --to umol/kg --salinity 35 --temperature 25C", 2300.0,
     0.1, "umol/kg"},
    // Calcium 40.078 g/mol (IUPAC).
    {"calcium_to_mmol", "420mg/L --to mmol/L", 10.4796, 1e-4, "mmol/L"},
    {"calcium_to_umol_kg", "420mg/L --to umol/kg --salinity 35 --temperature 25C", 10240.5, 0.5,
     "umol/kg"},
    // tests/data/seawater_teos10.csv.
    {"conductivity_to_salinity", "53.071032mS/cm --to salinity --temperature 25C", 35.0, 0.001,
     "salinity"},
    {"microsiemens_to_salinity", "53071uS/cm --to ppt --temperature 25C", 35.0, 0.001, "ppt"},
    {"salinity_to_conductivity", "35ppt --to mS/cm --temperature 25C", 53.071032, 1e-5, "mS/cm"},
    {"conductivity_to_gravity", "53.071032mS/cm --to SG --temperature 25C", 1.0264, 5e-5, "SG"},
    {"gravity_to_salinity", "1.0264SG --to psu --temperature 25C", 35.0, 0.05, "psu"},
    // Definitions: US gallon 3.785411784 L; degF = 1.8 degC + 32.
    {"litres_to_gallons", "800L --to gal", 211.3376, 1e-4, "gal"},
    {"gallons_to_litres", "100gal --to L", 378.5411784, 1e-6, "L"},
    {"celsius_to_fahrenheit", "25C --to F", 77.0, 1e-9, "F"},
    {"below_zero", "-40C --to F", -40.0, 1e-9, "F"},
    {"fahrenheit_to_celsius", "77F --to C", 25.0, 1e-9, "C"},
    {"kelvin", "25C --to K", 298.15, 1e-9, "K"},
    {"spelling", "'2300 µmol/kg' --to MEQ/L --salinity 35 --temperature 25°C", 2.35368, 5e-5,
     "meq/L"},
};

class ConvertTable : public ::testing::TestWithParam<ConvertCase> {};

TEST_P(ConvertTable, converts) {
  const ConvertCase& row = GetParam();
  const auto json = json_of(std::string{"convert "} + row.arguments);
  EXPECT_NEAR(at(json, "value"), row.value, row.tolerance);
  EXPECT_EQ(json.value("unit", ""), row.unit);
}

INSTANTIATE_TEST_SUITE_P(Conversions, ConvertTable, ::testing::ValuesIn(kConversions),
                         [](const auto& row) { return std::string{row.param.name}; });

// Common practice: slope 85..105 % is good. 97.1 % by hand: (176 - 3.1) / (3.01 x 59.159) = 0.971.
TEST(ElectrodeCommand, calibrates_and_reads) {
  const auto json = json_of(
      "electrode --buffer 7.00=-3.1mV@25C --buffer 10.01=-176mV@25C --reading -68.4mV "
      "--temperature 25C");
  EXPECT_NEAR(at(json, "slope_percent"), 97.1, 0.05);
  EXPECT_NEAR(at(json, "offset_mv"), -3.1, 1e-9);
  EXPECT_EQ(json.value("slope_origin", ""), "measured");
  EXPECT_EQ(json.value("verdict", ""), "good");
  EXPECT_NEAR(at(json, "ph_nbs"), 7.0 + (68.4 - 3.1) / (0.971 * 59.159), 0.001);
}

TEST(ElectrodeCommand, takes_one_buffer_a_bottle_and_a_known_electrode) {
  const auto one = json_of("electrode --buffer 7.00=35mV@25C");
  EXPECT_EQ(one.value("slope_origin", ""), "assumed");
  EXPECT_EQ(one.value("verdict", ""), "worn_out");  // common practice: beyond 30 mV
  const auto bottle = json_of("electrode --buffer 7.00=0mV@20C --buffer bottle10.06=-175mV@20C");
  EXPECT_NEAR(at(bottle, "slope_percent"), 98.5, 0.5);
  const auto known =
      json_of("electrode --slope 100% --offset 0mV --reading -59.159mV --temperature 25C");
  EXPECT_NEAR(at(known, "ph_nbs"), 8.0, 1e-4);
}

// IUPAC 2002 / NBS table at 20 degC.
TEST(ElectrodeCommand, shows_the_buffers_at_a_temperature) {
  const auto json = json_of("electrode --temperature 20C");
  EXPECT_NEAR(at(json, "nernst_mv"), 58.1672, 1e-4);
  EXPECT_NEAR(at(json, "buffer_6.865"), 6.881, 0.001);
  EXPECT_NEAR(at(json, "buffer_9.180"), 9.225, 0.001);
}

struct RefusalCase {
  const char* name;
  const char* arguments;
  std::vector<std::string> named;  ///< what the sentence must contain
};
// NOLINTNEXTLINE(readability-identifier-naming): gtest's name
void PrintTo(const RefusalCase& c, std::ostream* out) { *out << c.name; }

#define WATER "water --temperature 25C --alkalinity 2300umol/kg --ph 8.1 "
#define EFFECT                                                                                \
  "effect --salinity 35 --temperature 25.5C --alkalinity 2300umol/kg --ph 7.7 --scale total " \
  "--strength 20.3mmol/kg "

const RefusalCase kRefusals[] = {
    {"salinity", WATER "--salinity 50 --scale total", {"salinity 50", "19 to 43", "Lueker"}},
    {"salinity_nan", WATER "--salinity nan --scale total", {"--salinity", "nan"}},
    {"no_salinity", WATER "--scale total", {"--salinity", "missing"}},
    {"temperature",
     "water --salinity 35 --temperature 99F --alkalinity 2300umol/kg --ph 8.1 --scale total",
     {"temperature 37.2222 C", "2 to 35 C", "Lueker"}},
    {"temperature_without_unit",
     "water --salinity 35 --temperature 25 --alkalinity 2300umol/kg --ph 8.1 --scale total",
     {"--temperature 25", "no unit", "C, F, K"}},
    {"alkalinity",
     "water --salinity 35 --temperature 25C --alkalinity 20000umol/kg --ph 8.1 --scale total",
     {"alkalinity 20000 umol/kg", "100 to 10000 umol/kg", "source"}},
    {"alkalinity_unit",
     "water --salinity 35 --temperature 25C --alkalinity 8stone --ph 8.1 --scale total",
     {"8stone", "unknown unit", "dKH, meq/L"}},
    {"ph",
     "water --salinity 35 --temperature 25C --alkalinity 8dKH --ph 12 --scale nbs",
     {"11.863", "6 to 10", "source", "pH 12 on the nbs scale"}},
    {"no_scale", WATER "--salinity 35", {"--scale", "total", "nbs", "free", "sws"}},
    {"unknown_scale", WATER "--salinity 35 --scale hansson", {"hansson", "total", "nbs"}},
    {"neither_ph_nor_carbon",
     "water --salinity 35 --temperature 25C --alkalinity 8dKH",
     {"--ph", "--dic"}},
    {"both_ph_and_carbon",
     WATER "--salinity 35 --scale nbs --dic 2000umol/kg",
     {"either", "--dic"}},
    {"calcium",
     WATER "--salinity 35 --scale total --calcium 42mg/L",
     {"calcium 1024.05 umol/kg", "2000 to 17000 umol/kg"}},
    {"boron", WATER "--salinity 35 --scale total --boron none", {"none", "uppstroem", "lee"}},
    {"dose", EFFECT "--limewater 500mL/L", {"dose 500 mL per L of tank", "0 to 200"}},
    {"dose_negative", EFFECT "--limewater -1mL/L", {"dose -1", "0 to 200"}},
    {"dose_unit", EFFECT "--limewater 5cups", {"5cups", "mL/L, mL, L, gal"}},
    {"dose_past_the_chemistry",
     EFFECT "--limewater 190mL/L",
     {"pH on the total scale", "6 to 10", "with this dose"}},
    {"no_dose", EFFECT, {"--limewater", "missing"}},
    {"no_strength",
     "effect --salinity 35 --temperature 25C --alkalinity 8dKH --ph 8 --scale nbs --limewater "
     "1mL/L",
     {"--strength", "--reactor-temperature"}},
    {"dose_without_volume", EFFECT "--limewater 400mL", {"--limewater", "--volume"}},
    {"day_without_volume", EFFECT "--limewater 1mL/L --per-day 4L --evaporation 8L", {"--volume"}},
    {"day_without_evaporation",
     EFFECT "--limewater 1mL/L --volume 800L --per-day 4L",
     {"--evaporation"}},
    {"strength_temperature",
     "strength --temperature 80C",
     {"limewater temperature 80 C", "1 to 40 C", "source"}},
    {"strength_alone", "strength", {"--temperature", "missing"}},
    {"strength_of_seawater",
     "strength --temperature 25C --conductivity 53mS/cm",
     {"conductivity of limewater 53 mS/cm", "source"}},
    {"convert_unknown", "convert 8.2dKH --to parsec", {"parsec", "known units", "meq/L"}},
    {"convert_unknown_from", "convert 8.2stone --to dKH", {"stone", "known units"}},
    {"convert_across", "convert 8.2dKH --to mg/L", {"dKH", "alkalinity", "mg/L", "calcium"}},
    {"convert_without_unit", "convert 8.2 --to meq/L", {"no unit", "known units"}},
    {"convert_ambiguous", "convert 420ppm --to mmol/L", {"alkalinity or calcium", "ppmCaCO3"}},
    {"convert_without_density", "convert 8.2dKH --to umol/kg", {"--salinity", "--temperature"}},
    {"convert_without_temperature", "convert 53mS/cm --to salinity", {"--temperature"}},
    {"convert_beyond",
     "convert 900mS/cm --to salinity --temperature 25C",
     {"900 mS/cm", "to 62.", "PSS-78"}},
    {"convert_below_zero", "convert -1dKH --to meq/L", {"-1 dKH", "lowest"}},
    {"convert_far_too_much", "convert 1e308C --to F", {"1e+308 C", "cannot be", "10000 C"}},
    {"convert_far_too_much_of_a_volume", "convert 1e300L --to mL", {"1e+300 L", "cannot be"}},
    {"decimal_comma", "convert 8,2dKH --to meq/L", {"8,2dKH", "comma", "8.2dKH"}},
    {"decimal_comma_of_a_ph",
     "water --salinity 35 --temperature 25C --alkalinity 8dKH --ph 8,2 --scale nbs",
     {"--ph", "comma", "8.2"}},
    {"demand_of_nothing", "demand", {"--volume", "--alkalinity", "--per-day"}},
    {"demand_both_ways",
     "demand --volume 800L --alkalinity 1dKH --per-day 4L --reactor-temperature 25C",
     {"either"}},
    {"demand_beyond_a_day",
     "demand --volume 800L --alkalinity 10dKH --reactor-temperature 25C",
     {"dose of a day", "0 to 20"}},
    {"demand_without_strength", "demand --volume 800L --alkalinity 1dKH", {"--strength"}},
    {"demand_of_spent_limewater",
     "demand --volume 800L --alkalinity 1dKH --reactor-temperature 25C --spoiled 100%",
     {"without lime"}},
    {"demand_of_an_empty_charge",
     "demand --volume 800L --per-day 4L --reactor-temperature 25C --charge 0g",
     {"--charge"}},
    {"convert_nothing", "convert", {"--to", "known units"}},
    {"convert_no_number", "convert dKH --to meq/L", {"dKH", "number"}},
    {"buffers_swapped",
     "electrode --buffer 7.00=-176mV@25C --buffer 10.01=-3mV@25C",
     {"7.00 and 10.01", "swapped"}},
    {"buffers_equal",
     "electrode --buffer 7.00=-1mV@25C --buffer 7.00=-1mV@25C",
     {"7.00 and 7.00", "same buffer"}},
    {"buffer_drifting",
     "electrode --buffer 7.00=-2mV..-9mV@25C --buffer 10.01=-176mV@25C",
     {"buffer 7.00", "drifting"}},
    {"buffer_contaminated",
     "electrode --buffer 4.00=177mV@25C --buffer 7.00=-2mV@25C --buffer 10.01=-160mV@25C",
     {"buffer 10.01", "not what its label says"}},
    {"buffer_of_a_maker", "electrode --buffer 10.00=-176mV@25C", {"10.00", "10.01", "bottle"}},
    {"buffer_too_hot", "electrode --buffer 7.00=-1mV@60C", {"60 C", "0 to 50 C", "IUPAC"}},
    {"buffer_shapeless", "electrode --buffer 7.00", {"7.00=-3.1mV@25C"}},
    {"four_buffers",
     "electrode --buffer 4.00=177mV@25C --buffer 7.00=0mV@25C --buffer 9.18=-130mV@25C "
     "--buffer 10.01=-176mV@25C",
     {"one, two or three"}},
    {"reading_without_temperature",
     "electrode --slope 98% --offset 0mV --reading -60mV",
     {"--temperature"}},
    {"slope_of_nothing",
     "electrode --slope 20% --reading -60mV --temperature 25C",
     {"slope 20 % of Nernst", "60 to 105"}},
    {"electrode_nothing", "electrode", {"--buffer"}},
};

class RefusalTable : public ::testing::TestWithParam<RefusalCase> {};

TEST_P(RefusalTable, is_exit_code_2_a_sentence_on_stderr_and_nothing_on_stdout) {
  const RefusalCase& row = GetParam();
  const Answer complaint = complained(std::string{row.arguments} + " --json");
  EXPECT_EQ(complaint.exit_code, 2);
  for (const std::string& part : row.named) {
    EXPECT_NE(complaint.text.find(part), std::string::npos) << part << " in: " << complaint.text;
  }
  EXPECT_EQ(printed(std::string{row.arguments} + " --json").text, "");
}

INSTANTIATE_TEST_SUITE_P(Refusals, RefusalTable, ::testing::ValuesIn(kRefusals),
                         [](const auto& row) { return std::string{row.param.name}; });

TEST(Commands, print_a_table_for_people_without_json) {
  const Answer water = printed(WATER "--salinity 35 --scale total");
  EXPECT_EQ(water.exit_code, 0);
  EXPECT_NE(water.text.find("omega aragonite"), std::string::npos);
  EXPECT_NE(water.text.find("6.60 dKH"), std::string::npos);  // 2300 umol/kg at 1.02334 kg/L
  EXPECT_EQ(printed("convert 25C --to F").text, "77 F\n");
  EXPECT_EQ(printed("convert 10000L --to mL").text, "10000000 mL\n") << "and not 1e+07";
}

TEST(Commands, teach_by_an_example_in_their_help) {
  for (const std::string command :
       {"water", "strength", "effect", "demand", "convert", "electrode"}) {
    const Answer help = printed(command + " --help");
    EXPECT_EQ(help.exit_code, 0);
    EXPECT_NE(help.text.find("limegate " + command), std::string::npos) << help.text;
    EXPECT_NE(help.text.find("Example"), std::string::npos);
  }
}

/// The commands of a help text's footer, continued lines joined.
std::vector<std::string> examples_in(const std::string& help) {
  std::vector<std::string> examples;
  const std::string start = "\n  limegate ";
  for (auto at = help.find(start); at != std::string::npos; at = help.find(start, at + 1)) {
    const auto from = at + start.size();
    auto end = help.find('\n', from);
    while (end != std::string::npos && help[end - 1] == '\\') {
      end = help.find('\n', end + 1);
    }
    examples.push_back(help.substr(from, end - from));
  }
  return examples;
}

TEST(Commands, examples_in_the_help_work_as_written) {
  for (const std::string command :
       {"water", "strength", "effect", "demand", "convert", "electrode"}) {
    const auto examples = examples_in(printed(command + " --help").text);
    EXPECT_FALSE(examples.empty()) << command;
    for (const std::string& example : examples) {
      EXPECT_EQ(printed(example).exit_code, 0) << example;
      EXPECT_EQ(complained(example).text, "") << example;
    }
  }
}

}  // namespace
}  // namespace limegate::calculator
