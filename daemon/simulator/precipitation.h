#pragma once

namespace limegate::simulator {

/// Solids that form in a tank's water when it is far above saturation, and make it cloudy.
/// Aragonite: fine crystals come of themselves far above saturation, on the grains of milk above
/// about 7, and from what falls off pumps and heaters; they grow the quicker the more there are,
/// which takes the water far below where it began (the crash), until filters and floor have them.
/// Brucite: forms from a pH of about 9.6 on and dissolves again.
/// Amounts in micromol.
/// Threads: one owner. Time moves only by `pass`.
class Precipitation {
 public:
  struct Water {
    double kg = 0;
    double omega_aragonite = 0, omega_brucite = 0;
    double lime = 0;       ///< grains of milk afloat
    double walls = 0;      ///< aragonite that formed on walls in this time
    double available = 0;  ///< of what aragonite is made of: no more can form
  };
  /// What left the water as a solid; below zero: it dissolved again.
  struct Formed {
    double aragonite = 0, brucite = 0;
  };
  /// Lets so many hours pass, a minute at most.
  [[nodiscard]] Formed pass(double hours, const Water& water);

  /// Fine crystals from elsewhere: a stirred bed, a bottle.
  void add_crystals(double micromol) { crystals_ += micromol; }

  [[nodiscard]] double crystals() const { return crystals_; }
  [[nodiscard]] double brucite() const { return brucite_; }

 private:
  double crystals_ = 0, brucite_ = 0;
};

}  // namespace limegate::simulator
