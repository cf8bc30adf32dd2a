#include <memory>

#include <CLI/CLI.hpp>
#include <fmt/format.h>

#include "calculator/inputs.h"
#include "calculator/limewater_input.h"
#include "calculator/report.h"
#include "calculator/subcommands.h"
#include "chemistry/dose.h"

namespace limegate::calculator {
namespace {

using chemistry::DailyAddition;
using chemistry::Limewater;

/// Of a strength that was given without its temperature.
constexpr Celsius kRoom{25.0};
constexpr std::array kGrams{Unit{"g"}, Unit{"kg", 1000.0}};

struct Options {
  std::string volume;
  std::string alkalinity;
  std::string per_day;
  std::string evaporation;
  std::string charge;
  LimewaterOptions of;
  bool json = false;
};

/// What the tank takes up, and what gives it.
struct Demand {
  Litres volume;
  Litres evaporation;  ///< of a day; the tank's volume where none is known
  Limewater limewater;
  Millilitres per_day;
};

/// So much limewater a day gives this alkalinity: what a millilitre adds is added by each.
Input<Millilitres> volume_for(const Options& options, const Demand& demand) {
  const auto wanted = parse_dkh("--alkalinity", options.alkalinity);
  if (!wanted) {
    return refuse(wanted.error());
  }
  const auto each = in_words(chemistry::daily_addition(demand.volume, demand.limewater,
                                                       Millilitres{1.0}, demand.evaporation));
  if (!each) {
    return refuse(each.error());
  }
  if (!(each->alkalinity > Dkh{0.0})) {
    return refuse("limewater without lime gives no alkalinity, however much of it");
  }
  return Millilitres{*wanted / each->alkalinity};
}

Input<Demand> demand_of(const Options& options) {
  if (options.volume.empty() || options.alkalinity.empty() == options.per_day.empty()) {
    return refuse(
        "give the tank's --volume and either its --alkalinity of a day or the limewater "
        "--per-day; for example --volume 800L --alkalinity 0.6dKH");
  }
  const auto volume = parse_volume("--volume", options.volume);
  if (!volume) {
    return refuse(volume.error());
  }
  const auto limewater = limewater_of(options.of, kRoom);
  if (!limewater) {
    return refuse(limewater.error());
  }
  const auto evaporation =
      options.evaporation.empty() ? volume : parse_volume("--evaporation", options.evaporation);
  if (!evaporation) {
    return refuse(evaporation.error());
  }
  Demand demand{*volume, *evaporation, *limewater, {}};
  const auto per_day = options.per_day.empty()
                           ? volume_for(options, demand)
                           : parse_volume("--per-day", options.per_day).map(to_millilitres);
  if (!per_day) {
    return refuse(per_day.error());
  }
  demand.per_day = *per_day;
  return demand;
}

/// Of the powder, as it was dissolved: what air spoils of it was powder, too.
Input<double> grams_a_day(const Options& options, const Demand& demand) {
  LimewaterOptions fresh = options.of;
  fresh.spoiled.clear();
  return limewater_of(fresh, kRoom).map([&](const Limewater& limewater) {
    return chemistry::powder_grams(limewater, demand.per_day);
  });
}

Input<std::vector<Row>> rows_of(const Options& options) {
  const auto demand = demand_of(options);
  if (!demand) {
    return refuse(demand.error());
  }
  const auto day = in_words(chemistry::daily_addition(demand->volume, demand->limewater,
                                                      demand->per_day, demand->evaporation));
  if (!day) {
    return refuse(day.error());
  }
  const auto grams = grams_a_day(options, *demand);
  if (!grams) {
    return refuse(grams.error());
  }
  std::vector<Row> rows{
      {"per_day_ml", "limewater a day", demand->per_day.count(), "mL", 0},
      {"alkalinity_per_day_dkh", "alkalinity a day", day->alkalinity.count(), "dKH", 3},
      {"alkalinity_per_day_meq_l", "the same", chemistry::to_meq_per_litre(day->alkalinity).count(),
       "meq/L", 3},
      {"calcium_per_day_mg_l", "calcium a day", day->calcium.count(), "mg/L", 2},
      {"powder_g_per_day", "powder a day", *grams, "g", 2}};
  if (!options.charge.empty()) {
    const auto charge = parse_in("--charge", options.charge, kGrams);
    if (!charge) {
      return refuse(charge.error());
    }
    if (!(*charge > 0.0) || !(*grams > 0.0)) {
      return refuse("--charge lasts for some days only if there is powder in it and some is used");
    }
    rows.push_back({"charge_days", "days until the charge is spent", *charge / *grams, "d", 0});
  }
  if (!options.evaporation.empty()) {
    rows.push_back({"evaporation_share_percent",
                    "share of evaporation (above 100 % the tank floods)",
                    day->share_of_evaporation.count(), "%", 1});
  }
  const std::vector<Row> remark = remark_on(demand->limewater);
  rows.insert(rows.end(), remark.begin(), remark.end());
  return rows;
}

}  // namespace

void add_demand(CLI::App& app, int& exit_code) {
  const auto options = std::make_shared<Options>();
  CLI::App* command = app.add_subcommand(
      "demand", "how much limewater a tank's demand takes, or what a day's limewater supplies");
  command->add_option("--volume", options->volume, "water in the tank: 800L or 210gal");
  command->add_option("--alkalinity", options->alkalinity,
                      "what the tank takes up in a day: 0.6dKH, 0.21meq/L or 11ppm");
  command->add_option("--per-day", options->per_day, "or the limewater of a day: 4L");
  add_limewater_options(*command, options->of);
  command->add_option("--evaporation", options->evaporation,
                      "of a day: 8L; limewater takes its place, and more of it floods the tank");
  command->add_option("--charge", options->charge, "powder in the reactor: 120g");
  command->add_flag("--json", options->json, "one JSON object instead of a table");
  command->footer(
      "Example, a tank of 800 L that takes up 0.6 dKH a day:\n"
      "  limegate demand --volume 800L --alkalinity 0.6dKH --reactor-temperature 23C \\\n"
      "    --evaporation 8L --charge 120g\n"
      "Example, the way back:\n"
      "  limegate demand --volume 800L --per-day 4L --reactor-temperature 23C\n"
      "Demand is what alkalinity falls by in a day without dosing, or what dosing holds. Grams "
      "are\n"
      "of pure calcium hydroxide: what cakes at the bottom is not counted. Per kilogram is taken\n"
      "at 1.023 kg/L.");
  command->callback([options, &exit_code] {
    exit_code = answer("demand", rows_of(*options), options->json ? Output::json : Output::table);
  });
}

}  // namespace limegate::calculator
