#include "rules/for_people.h"

#include <algorithm>
#include <chrono>

#include <fmt/format.h>

#include "units/plain_number.h"

namespace limegate::rules {

std::string for_people(Duration duration) {
  const auto seconds =
      std::max(std::chrono::ceil<std::chrono::seconds>(duration).count(), Duration::rep{0});
  if (seconds < 120) {
    return fmt::format("{} s", seconds);
  }
  const auto minutes = std::chrono::ceil<std::chrono::minutes>(duration).count();
  if (minutes < 120) {
    return fmt::format("{} min", minutes);
  }
  return fmt::format("{} h {:02} min", minutes / 60, minutes % 60);
}

std::string volume_for_people(Millilitres volume) {
  constexpr double absurd = 1e7;  // all its digits help nobody
  // Nothing is nothing, whatever its sign.
  return volume.count() < absurd ? fmt::format("{:.1f} mL", volume.count() + 0.0)
                                 : plain_number(volume.count(), 3) + " mL";
}

std::string temperature_for_people(double celsius) { return fmt::format("{:.1f} °C", celsius); }

}  // namespace limegate::rules
