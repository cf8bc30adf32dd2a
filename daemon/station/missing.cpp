#include "station/missing.h"

#include <chrono>

#include <fmt/format.h>

#include "chemistry/keeper_units.h"
#include "chemistry/limewater.h"
#include "rules/for_people.h"

namespace limegate::station {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

/// Shorter than any silence that is told.
constexpr Duration kWorthASentence = 3h;
constexpr Celsius kRoom{25.0};

}  // namespace

Missing missing_after(Duration undosed_for, Millilitres day_volume, Litres water) {
  const double days = std::chrono::duration<double, std::ratio<86400>>(undosed_for).count();
  Missing missing{undosed_for, day_volume * days, std::nullopt};
  const auto limewater = chemistry::saturated_limewater(kRoom);
  if (water > Litres{} && limewater) {
    const MeqPerLitre alkalinity = chemistry::properties_of(*limewater).alkalinity;
    missing.alkalinity = chemistry::to_dkh(
        MeqPerLitre{alkalinity.count() * missing.volume.count() / to_millilitres(water).count()});
  }
  return missing;
}

std::string sentence_of(const Missing& missing) {
  if (missing.undosed_for < kWorthASentence || !(missing.volume > Millilitres{})) {
    return {};
  }
  std::string text = "No limewater for " + rules::for_people(missing.undosed_for) + ": " +
                     rules::volume_for_people(missing.volume) + " of the plan are missing";
  if (missing.alkalinity) {
    text += fmt::format(", about {:.1f} dKH of alkalinity", missing.alkalinity->count());
  }
  return text + ".";
}

}  // namespace limegate::station
