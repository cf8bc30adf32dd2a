#pragma once

#include <optional>

#include "units/quantities.h"
#include "units/time.h"

namespace limegate::station {

/// What a station knows of its water beside what its probes read.
struct SiteWater {
  Litres volume{400.0};
  /// As tested last. Absent: no volume is sized by it, and what a dose should do is worked out for
  /// an ordinary reef.
  std::optional<Dkh> alkalinity;
  Salinity salinity{35.0};
};

/// How the pH of this tank answers to saturated limewater, by chemistry at the present water. An
/// estimate: a hobby probe's pH, an alkalinity of some days ago, limewater as strong as a cool room
/// makes it.
class WaterResponse {
 public:
  explicit WaterResponse(const SiteWater& site);

  /// A test of the keeper's takes the place of the site's alkalinity; one that is too old to count
  /// says nothing of what volumes may be.
  struct Tested {
    Dkh level;
    enum class Counts { yes, no } counts;
    friend bool operator==(const Tested&, const Tested&) = default;
  };
  /// Absent: nothing was ever tested.
  void take(const std::optional<Tested>& tested);

  /// Takes good readings; works the response out anew where they have moved.
  void take(Ph ph, Celsius temperature);

  /// The rise of pH by one millilitre that has mixed in, without exchange with the air. Before any
  /// reading, and for water that chemistry can't solve, that of the sensitive water below.
  [[nodiscard]] PhChange per_millilitre() const { return per_millilitre_; }
  /// The same where it stands on a tested alkalinity, so that volumes may be sized by it. Where
  /// the newest test is too old to count it is that of the sensitive water below.
  [[nodiscard]] std::optional<PhChange> tested_per_millilitre() const;

 private:
  void work_out();

  SiteWater site_;
  std::optional<Tested> tested_;
  std::optional<Ph> at_ph_;
  Celsius at_temperature_{};
  PhChange per_millilitre_;
};

/// The rise of pH by a small dose in water more sensitive than a reef's should be: pH per mL of
/// saturated limewater in a litre of tank water. A tank with a higher pH or alkalinity rises less.
/// Source: tests/data/limewater_additions.csv, TA 2300 µmol/kg and pH_T 7.70, 0.5 mL/L: +0.046.
constexpr double kPhPerMlPerL = 0.092;

/// The rise of pH by one millilitre of limewater in this water. Absent where chemistry's ranges
/// end: salinity 19..43, 2..35 °C, alkalinity 100..10000 µmol/kg, pH_T 6..10.   Pure.
[[nodiscard]] std::optional<PhChange> rise_per_millilitre(Litres volume, Dkh alkalinity,
                                                          Salinity salinity, Ph ph,
                                                          Celsius temperature);

/// The pH of this water after so much limewater has mixed in, without exchange with the air. Absent
/// where chemistry's ranges end: those above, and 200 mL per litre of tank.   Pure.
[[nodiscard]] std::optional<Ph> ph_after(const SiteWater& site, Ph ph, Celsius temperature,
                                         Millilitres dose);

}  // namespace limegate::station
