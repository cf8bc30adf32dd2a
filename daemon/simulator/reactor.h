#pragma once

#include <algorithm>
#include <array>
#include <vector>

#include "units/quantities.h"
#include "units/time.h"

namespace limegate::simulator {

/// The reactor: an upright vessel with powder under water. A scenario of our own.
struct ReactorSettings {
  Millimetres bore{100.0};    ///< inner diameter
  Millimetres height{400.0};  ///< of the water
  double powder_g = 110.0;    ///< a charge for this bore (common practice: 90 to 120 g for 10 cm)
  Celsius temperature{22.0};  ///< the room's
  /// Share of the limewater's strength that CO2 has used up by the time it leaves.
  Percent spoiled{0.0};
  /// Into so many layers the water above the powder is parted: 1 = it is mixed.
  int layers = 1;
};

enum class Stirrer { resting, running };

/// What runs out at the top.
struct Outflow {
  Kilograms limewater;
  MmolPerKg strength;
  double powder_mmol = 0;  ///< undissolved: milk
};

/// How quickly a particle of calcium hydroxide sinks in still water.
/// Source: Stokes' law, 2211 kg/m3, water at 25 degC (997 kg/m3, 0.89 mPa s).
[[nodiscard]] MillimetresPerHour sinking_speed(double diameter_um);

/// Powder that dissolves toward saturation, is stirred up, and sinks again by Stokes' law against
/// the upflow, each size by its own speed. Water that rests lies in layers, and only the lowest
/// touches the powder: drawn fast, the outflow stays strong until the vessel's water is used up,
/// and then falls to what the powder gives in passing (from memory: what keepers tell of reactors).
/// As one layer it is mixed, and falls from the start. Threads: one owner. Time moves only by
/// `advance`.
class Reactor {
 public:
  explicit Reactor(const ReactorSettings& settings);

  /// Lets `dt` pass while `inflow` of pure water is pushed in at the bottom.
  [[nodiscard]] Outflow advance(Duration dt, Stirrer stirrer, Millilitres inflow);

  /// A knock, or the stirrer: up to half of the powder is afloat.
  void stir();
  /// Powder is taken away, from the bottom first, or put there until there is so much in all. 0 to
  /// 10 kg.
  void set_powder(double grams);
  /// Share of the strength that CO2 uses up from now on.
  void set_spoiled(Percent spoiled) { settings_.spoiled = spoiled; }

  /// Of the water at the outlet.
  [[nodiscard]] MmolPerKg strength() const;
  [[nodiscard]] double powder_g() const;
  [[nodiscard]] Litres volume() const { return Litres{litres()}; }
  /// Grams of powder that float in the water.
  [[nodiscard]] double suspended_g() const;

 private:
  static constexpr std::size_t kSizes = 5;
  struct Size {
    double suspended_g = 0;
    double cleared_mm = 0;  ///< from the outlet downward
  };
  void settle(double hours, double upflow_mm_h);
  void dissolve(double seconds, bool stirred);
  [[nodiscard]] double litres() const;
  [[nodiscard]] double layer_litres() const { return litres() / settings_.layers; }

  ReactorSettings settings_;
  double area_mm2_;
  double saturated_;                    ///< mmol/kg
  std::vector<double> dissolved_mmol_;  ///< of each layer, from the powder upward
  double bed_g_;                        ///< what lies at the bottom
  std::array<Size, kSizes> sizes_{};
};

}  // namespace limegate::simulator
