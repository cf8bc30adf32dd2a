#include "app/advice_page.h"

#include <cmath>
#include <optional>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "units/iso8601.h"

namespace limegate::app {
namespace {

using nlohmann::ordered_json;

/// To so many places: more are not known.
double rounded(double value, double places) { return std::round(value * places) / places; }

void put(ordered_json& object, const char* key, const char* interval_key,
         const std::optional<care::Estimate>& one, double places) {
  object[key] = one ? ordered_json(rounded(one->median, places)) : ordered_json(nullptr);
  object[interval_key] =
      one ? ordered_json{rounded(one->ninety.low, places), rounded(one->ninety.high, places)}
          : ordered_json(nullptr);
}

template <class Amount>
void put(ordered_json& object, const char* key, const std::optional<Amount>& one, double places) {
  object[key] = one ? ordered_json(rounded(one->count(), places)) : ordered_json(nullptr);
}

constexpr double kVolumePlaces = 10.0, kLevelPlaces = 1000.0, kRatePlaces = 10000.0;

/// "0.71 dKH a day (0.66 to 0.77)", or that it is unknown.
std::string words_of(const std::optional<care::Estimate>& one, const char* unit, int decimals) {
  return one ? fmt::format("{0:.{4}f} {1} ({2:.{4}f} to {3:.{4}f})", one->median, unit,
                           one->ninety.low, one->ninety.high, decimals)
             : "unknown";
}

std::string volume_of(const std::optional<Millilitres>& volume) {
  return volume ? fmt::format("{:.0f} mL a day", volume->count()) : "unknown";
}

}  // namespace

std::string json_of(const care::Advice& advice, const std::string& station,
                    const care::Asked& asked) {
  ordered_json out;
  out["station"] = station;
  out["at"] = iso8601(asked.at);
  out["next_test"] = iso8601(asked.next_test);
  put(out, "demand_dkh_per_day", "demand_90", advice.demand_dkh_per_day, kRatePlaces);
  put(out, "hold_volume_ml_per_day", "hold_volume_90", advice.hold_ml_per_day, kVolumePlaces);
  put(out, "present_volume_ml_per_day", advice.present, kVolumePlaces);
  put(out, "next_volume_ml_per_day", advice.next, kVolumePlaces);
  put(out, "alkalinity_dkh", "alkalinity_90", advice.alkalinity_dkh, kLevelPlaces);
  put(out, "next_alkalinity_dkh", "next_alkalinity_90", advice.next_alkalinity_dkh, kLevelPlaces);
  out["kit_sd_dkh"] = advice.kit_sd_dkh ? ordered_json(rounded(*advice.kit_sd_dkh, kLevelPlaces))
                                        : ordered_json(nullptr);
  out["most_limewater_dkh_per_day"] = rounded(advice.most.count(), kRatePlaces);
  const auto& other = advice.other;
  put(out, "other_method_dkh_per_day", other ? std::optional{other->alkalinity} : std::nullopt,
      kRatePlaces);
  put(out, "other_method_calcium_mg_l_per_day",
      other ? std::optional{other->calcium} : std::nullopt, kRatePlaces);
  put(out, "other_method_percent", other ? std::optional{other->share} : std::nullopt,
      kVolumePlaces);
  out["tests"] = advice.tests;
  const auto grams = [](const care::Interval& one) {
    return ordered_json{std::round(one.low), std::round(one.high)};
  };
  const auto& powder = advice.powder;
  out["powder_left_g"] = powder ? grams(powder->left_g) : ordered_json(nullptr);
  out["powder_days"] = powder && powder->days ? grams(*powder->days) : ordered_json(nullptr);
  out["powder_refill_g"] = powder ? grams(powder->refill_g) : ordered_json(nullptr);
  out["enough_tests"] = advice.enough_tests;
  out["best_next_test"] =
      advice.best_next_test ? ordered_json(iso8601(*advice.best_next_test)) : ordered_json(nullptr);
  out["asks"] = advice.asks;
  // A station's name is the owner's word; a byte that is no text is shown as such.
  return out.dump(2, ' ', false, ordered_json::error_handler_t::replace) + "\n";
}

std::string page_of(const care::Advice& advice, const std::string& station,
                    const care::Asked& asked) {
  std::string out = fmt::format(
      "Station {}, {}: advice from {} tests of alkalinity. Estimates, in brackets 90 %.\n"
      "  Demand of the tank: {}.\n"
      "  Limewater that holds the level: {}.\n"
      "  Limewater at present: {}. Next: {}.\n"
      "  Alkalinity now, as your kit reads it: {}.\n"
      "  The same at {}, if the present volume goes on: {}.\n",
      station, iso8601(asked.at), advice.tests, words_of(advice.demand_dkh_per_day, "dKH a day", 2),
      words_of(advice.hold_ml_per_day, "mL a day", 0), volume_of(advice.present),
      volume_of(advice.next), words_of(advice.alkalinity_dkh, "dKH", 2), iso8601(asked.next_test),
      words_of(advice.next_alkalinity_dkh, "dKH", 2));
  if (advice.other) {
    out += fmt::format(
        "  Limewater can bring {:.2f} dKH a day at most; another method must bring "
        "{:.2f}.\n",
        advice.most.count(), advice.other->alkalinity.count());
  }
  if (advice.powder) {
    const care::Powder& powder = *advice.powder;
    out += fmt::format("  Powder that can still be given: {:.0f} to {:.0f} g{}.\n",
                       powder.left_g.low, powder.left_g.high,
                       powder.days ? fmt::format(", for {:.0f} to {:.0f} days", powder.days->low,
                                                 powder.days->high)
                                   : "");
  }
  if (advice.best_next_test) {
    out += fmt::format("  A test would say most at {}.\n", iso8601(*advice.best_next_test));
  }
  for (const std::string& ask : advice.asks) {
    out += fmt::format("  ? {}\n", ask);
  }
  return out;
}

}  // namespace limegate::app
