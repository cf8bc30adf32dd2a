#pragma once

#include <string_view>

#include <tl/expected.hpp>

namespace limegate::chemistry {

/// Where a formula may be used, and who says so. All text is static: copying allocates nothing.
struct ValidRange {
  std::string_view quantity;
  std::string_view unit;  ///< empty where the quantity has none
  double lowest;
  double highest;
  std::string_view source;
};

/// A value outside its valid range, or not a number. The one fault of this layer's formulas.
struct ChemistryFault {
  ValidRange allowed;
  double value;
};

template <class T>
using Result = tl::expected<T, ChemistryFault>;

/// Written as "is it good?", so that NaN, which compares false with everything, is not.
[[nodiscard]] constexpr bool holds(const ValidRange& range, double value) {
  return value >= range.lowest && value <= range.highest;
}

[[nodiscard]] inline tl::unexpected<ChemistryFault> outside(const ValidRange& range, double value) {
  return tl::unexpected<ChemistryFault>{ChemistryFault{range, value}};
}

inline constexpr ValidRange kSalinityRange{"salinity", "", 19.0, 43.0,
                                           "Lueker et al. 2000, K1 and K2 of carbonic acid"};
inline constexpr ValidRange kTemperatureRange{"temperature", "C", 2.0, 35.0,
                                              "Lueker et al. 2000, K1 and K2 of carbonic acid"};
inline constexpr ValidRange kAlkalinityRange{
    "alkalinity", "umol/kg", 100.0, 10000.0,
    "this program: 0.3 to 29 dKH, well past what a tank holds; beyond it minor acids count"};
inline constexpr ValidRange kPhTotalRange{"pH on the total scale", "", 6.0, 10.0,
                                          "this program: below, limestone dissolves; above, "
                                          "hydroxides precipitate (Ringham et al. 2024)"};
inline constexpr ValidRange kDissolvedCarbonRange{
    "dissolved inorganic carbon", "umol/kg", 0.0, 30000.0,
    "this program: what alkalinity and pH within their own ranges can give"};
inline constexpr ValidRange kCalciumRange{
    "calcium", "umol/kg", 2000.0, 17000.0,
    "this program: about 80 to 700 mg/L, past what a tank holds without precipitation"};

}  // namespace limegate::chemistry
