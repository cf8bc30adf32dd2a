#include "rehearsal/series.h"

#include <algorithm>
#include <chrono>

#include <fmt/chrono.h>
#include <fmt/format.h>
#include <fmt/ostream.h>

#include "chemistry/keeper_units.h"

namespace limegate::rehearsal {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

/// Nothing where nothing was shown: unknown is never zero.
std::string field(const std::optional<double>& value) {
  return value ? fmt::format("{:.6g}", *value) : std::string{};
}

}  // namespace

void Series::begin(std::ostream& out) {
  out << "station,time,ph_true,ph_shown,second_ph_shown,temperature_true_c,temperature_shown_c,"
         "alkalinity_dkh,calcium_mg_per_l,dic_umol_per_kg,pco2_uatm,salinity,cloud_mg_per_l,powder_"
         "g,"
         "limewater_ml,stirred_s,down_s,holds\r\n";
}

void Series::second(const Second& second, const simulator::Tank& tank) {
  delivered_ml_ += second.flowed.count();
  stirred_s_ += tank.stirs() ? 1U : 0U;
  down_s_ += second.holds == nullptr ? 1U : 0U;
  if (second.holds != nullptr) {
    for (const rules::Hold& hold : *second.holds) {
      const std::string code = rules::code_of(hold);
      if (std::find(codes_.begin(), codes_.end(), code) == codes_.end()) {
        codes_.push_back(code);
      }
    }
  }
  if (second.world % 1min != Duration::zero()) {
    return;
  }
  const simulator::Aquarium& aquarium = tank.aquarium();
  const chemistry::CarbonateState& water = aquarium.display();
  const KgPerLitre density = aquarium.density();
  fmt::print(out_,
             "{},{:%FT%TZ},{:.4f},{},{},{:.3f},{},{:.4f},{:.2f},{:.2f},{:.1f},{:.3f},{:.3f},{:.3f},"
             "{:.3f},{},{},{}\r\n",
             station_, std::chrono::floor<std::chrono::seconds>(second.at), aquarium.ph().count(),
             field(second.shown.ph), field(second.shown.second_ph), aquarium.temperature().count(),
             field(second.shown.temperature),
             chemistry::to_dkh(chemistry::to_meq_per_litre(water.alkalinity, density)).count(),
             chemistry::to_mg_per_litre(water.calcium, density).count(),
             water.dissolved_carbon.count(), water.co2_pressure.count(),
             aquarium.salinity().count(), aquarium.cloud().count(), tank.reactor().powder_g(),
             delivered_ml_, stirred_s_, down_s_, fmt::join(codes_, " "));
  delivered_ml_ = 0;
  stirred_s_ = down_s_ = 0;
  codes_.clear();
}

}  // namespace limegate::rehearsal
