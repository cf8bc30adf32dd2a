#pragma once

#include <string>
#include <variant>
#include <vector>

#include "care/commission_step.h"
#include "units/quantities.h"
#include "units/time.h"

/// The keeper's book: tests of the water by hand, and everything that changed it. Plain values.
namespace limegate::care {

using Milliequivalents = Quantity<struct MilliequivalentsTag>;

/// As the kit read it. Another `kit` is another bias; its name is the keeper's own word.
struct AlkalinityTest {
  Dkh level;
  std::string kit = {};
};
struct CalciumTest {
  MgPerLitre level;
};
struct MagnesiumTest {
  MgPerLitre level;
};
struct SalinityTest {
  Salinity level;
};
struct PhosphateTest {
  MgPerLitre level;
};
/// By hand, with a probe of its own or a colour.
struct PhTest {
  Ph level;
};
/// Limewater given in the 24 h that begin then.
struct LimewaterGiven {
  Millilitres volume;
};
/// So much of the tank's water went for new water.
struct WaterChange {
  Litres volume;
};
/// What new water has from then on.
struct NewWater {
  Dkh alkalinity;
};
/// Alkalinity that came otherwise, at once: by hand, or by a second method.
struct Supplement {
  Milliequivalents alkalinity;
};

/// Powder that was put into the reactor.
struct PowderAdded {
  Kilograms mass;
};
/// The reactor was emptied and cleaned.
struct ReactorCleaned {};
/// The probe of pH was calibrated in buffers.
struct ProbeCalibrated {};
/// What the pump gives, as a person measured it.
struct RateMeasured {
  MillilitresPerMinute rate;
};

/// The pump got a new tube.
struct NewTube {};
/// Calibration buffers were opened: pH 10 loses to the air from then on.
struct NewBuffers {};
/// A test kit was opened.
struct NewKit {};
/// The pH probe got a new electrode.
struct NewElectrode {};

struct Entry {
  using What = std::variant<AlkalinityTest, CalciumTest, MagnesiumTest, SalinityTest, PhosphateTest,
                            PhTest, LimewaterGiven, WaterChange, NewWater, Supplement, PowderAdded,
                            ReactorCleaned, ProbeCalibrated, RateMeasured, NewTube, NewBuffers,
                            NewKit, NewElectrode, StepTaken>;
  WallTime at;
  What what;
  int line = 0;  ///< of the file that it was read from; 0: of none
};

/// An entry as a person writes it: the columns of a row.
struct Written {
  WallTime at;
  std::string what;   ///< in lower case: "alkalinity"
  std::string value;  ///< digits; empty where there is nothing to measure
  std::string unit;   ///< as book_reader.h names it
  std::string kit = {};
  friend bool operator==(const Written&, const Written&) = default;
};

/// By time, and of one time as they were written.
struct Book {
  std::vector<Entry> entries;
};

/// Days from one moment to another; below zero where `to` comes first.
[[nodiscard]] constexpr double days_between(WallTime from, WallTime to) {
  return in_seconds(to - from) / 86400.0;
}

}  // namespace limegate::care
