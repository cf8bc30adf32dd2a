#pragma once

#include <cstdint>

#include "chemistry/carbonate_system.h"
#include "units/quantities.h"
#include "units/time.h"

namespace limegate::simulator {

/// The water of a tank and what lives in it. A scenario of our own; each number can be set.
struct AquariumSettings {
  Litres water{400.0};          ///< display and sump together
  double sump_share = 0.2;      ///< of the water
  double turnover_per_h = 5.0;  ///< how often the display passes through the sump
  Salinity salinity{35.0};
  Celsius temperature{25.5};
  CelsiusChange temperature_swing{0.4};  ///< over the day
  Dkh alkalinity{8.0};                   ///< at the start
  MgPerLitre calcium{420.0};             ///< at the start
  Ph ph{8.15};                           ///< at the start, as a probe shows it (NBS)
  double room_co2_ppm = 500.0;           ///< mean of the day
  double room_co2_swing_ppm = 200.0;     ///< people are at home in the evening
  /// Share of the difference to balance that the water exchanges in an hour; skimmer and surface.
  double gas_exchange_per_h = 3.0;
  MicromolPerKg respiration_per_h{9.0};  ///< photosynthesis gives the same back over the day
  int lights_on_h = 9, lights_off_h = 21;
  Dkh demand_per_day{0.6};  ///< of calcification at the water of the start
  Millilitres evaporation_per_day{4000.0};
};

/// Sums of everything that came and went, by which the books must close. Units: micromol and kg.
struct Budget {
  double alkalinity = 0, carbon = 0, calcium = 0, water = 0;
};

/// Two boxes of seawater, display and sump, that mix; limewater and top-off go into the sump.
/// Gas exchange, photosynthesis, respiration, calcification by omega, precipitation far above it,
/// evaporation and a level-controlled top-off.
/// Threads: one owner. Time moves only by `advance`.
class Aquarium {
 public:
  /// The settings must be water that chemistry can solve; they come from a checked config.
  explicit Aquarium(const AquariumSettings& settings);

  /// Lets `dt` (at most ten seconds) pass, at the end of which it is `now`.
  void advance(Moment now, Duration dt);

  /// Limewater runs into the sump: its mass, its strength, and undissolved powder that it carries,
  /// which dissolves in the tank.
  void add(Kilograms limewater, MmolPerKg strength, double powder_mmol);

  /// Somebody pours sodium carbonate into the display: two of alkalinity and one of carbon each.
  void add_sodium_carbonate(double mmol);
  /// The room's CO2, mean of the day, from now on.
  void set_room_co2(double ppm) { settings_.room_co2_ppm = ppm; }

  /// The water at the probe, which hangs in the sump beside the return. Off chemistry's range (an
  /// emptied reservoir) it stays at the last water that could be solved.
  [[nodiscard]] Ph ph() const;
  [[nodiscard]] Celsius temperature() const { return temperature_; }
  /// The display's water as it was solved last.
  [[nodiscard]] const chemistry::CarbonateState& display() const { return display_solved_; }
  [[nodiscard]] Salinity salinity() const;
  [[nodiscard]] Litres volume() const;
  [[nodiscard]] KgPerLitre density() const { return constants_.density; }
  [[nodiscard]] double undissolved_mmol() const { return undissolved_mmol_; }

  /// What is in the water now, and what came and went since the start: the difference is what was
  /// in it then.
  [[nodiscard]] Budget content() const;
  [[nodiscard]] const Budget& came() const { return came_; }
  /// Millimol of calcium carbonate that skeletons and walls took up.
  [[nodiscard]] double calcified_mmol() const { return calcified_mmol_; }

 private:
  struct Box {
    double kg = 0;
    Budget amounts;
    double salt_g = 0;
  };
  void mix(double seconds);
  void dissolve(double seconds);
  void evaporate_and_top_off(WallTime wall, double seconds);
  void live(WallTime wall, double seconds);
  void solve();
  [[nodiscard]] chemistry::CarbonateState solved(const Box& box,
                                                 const chemistry::CarbonateState& otherwise) const;

  AquariumSettings settings_;
  Celsius temperature_;
  chemistry::SeawaterConstants constants_;
  Box display_, sump_;
  double nominal_kg_ = 0;
  double calcification_ = 0;  ///< micromol per kg, hour and unit of omega above one
  double undissolved_mmol_ = 0;
  double calcified_mmol_ = 0;
  Budget came_;
  chemistry::CarbonateState display_solved_, sump_solved_;
  Duration since_solved_{};
  Duration since_constants_{};
};

}  // namespace limegate::simulator
