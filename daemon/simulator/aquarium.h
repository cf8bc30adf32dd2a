#pragma once

#include <cstdint>
#include <optional>

#include "chemistry/carbonate_system.h"
#include "simulator/precipitation.h"
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
  /// What people and seasons do to an ordinary tank.
  struct Habits {
    Percent water_change{0.0};  ///< of the water, for water like that of the start
    int water_change_days = 7;
    MicromolPerKg feeding{0.0};  ///< CO2 that a meal gives, beyond the usual respiration
    int feedings_per_day = 2;
    /// Tank water that a wet skimmer takes, which the top-off makes up with fresh water.
    Millilitres skimmate_per_day{0.0};
    double season_swing = 0.15;  ///< of the evaporation, either way about its mean
  } habits;
};

/// Sums of everything that came and went, by which the books must close. Units: micromol, kg, and g
/// of salt. Magnesium is not in them: brucite takes a few per cent of it at most.
struct Budget {
  double alkalinity = 0, carbon = 0, calcium = 0, water = 0, salt = 0;
};

/// Two boxes of seawater, display and sump, that mix; limewater and top-off go into the sump.
/// Gas exchange, photosynthesis, respiration, meals, calcification by omega, precipitation far
/// above it, evaporation, a level-controlled top-off, skimmate and water changes. Threads: one
/// owner. Time moves only by `advance`.
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
  /// Fine crystals of aragonite come afloat, and draw down what is dissolved.
  void stir_up_crystals(MgPerLitre aragonite);
  /// What the top-off gives whatever the level is; absent: as the level asks.
  void set_top_off(std::optional<MillilitresPerMinute> flow) { top_off_ = flow; }
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
  /// Millimol of calcium carbonate that formed in the water.
  [[nodiscard]] double precipitated_mmol() const { return precipitated_mmol_; }
  /// What makes the water cloudy: crystals, brucite and grains of milk.
  [[nodiscard]] MgPerLitre cloud() const;

 private:
  struct Box {
    double kg = 0;
    Budget amounts;
  };
  void mix(double seconds);
  void dissolve(double seconds);
  void evaporate_and_top_off(WallTime wall, double seconds);
  void live(WallTime wall, double seconds);
  /// `on_walls` = micromol that formed there in these hours.
  void precipitate(double hours, double on_walls);
  /// Where chemistry ends the water stays as it was solved last, and solids go on forming: never
  /// more than half of what there is.
  [[nodiscard]] static double most_at_once(double there) { return there > 0.0 ? 0.5 * there : 0.0; }
  void change_water(WallTime wall, double seconds);
  /// Micromol of CO2 that meals give in the hours that have just passed.
  [[nodiscard]] double of_meals(WallTime wall, double hours);
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
  double calcified_mmol_ = 0, precipitated_mmol_ = 0;
  Precipitation solids_;
  double meals_ = 0;                 ///< micromol of CO2 that is still to come
  std::optional<std::int64_t> fed_;  ///< how many meals there were
  Budget fresh_;                     ///< of a kilogram of new water
  std::optional<MillilitresPerMinute> top_off_;
  Budget came_;
  chemistry::CarbonateState display_solved_, sump_solved_;
  Duration since_solved_{};
  Duration since_constants_{};
};

}  // namespace limegate::simulator
