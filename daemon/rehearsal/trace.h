#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "rules/hold.h"
#include "units/time.h"

namespace limegate::rehearsal {

/// The course of a rehearsal for charts: at most 2000 points, whatever its length. When there are
/// more, two neighbours become one; lows, highs and sums stay exact.
/// Threads: one owner.
class Trace {
 public:
  static constexpr std::size_t kPointsMax = 2000;
  static constexpr std::size_t kHoldsMax = 64;

  struct Point {
    double ph_low = 14, ph_high = 0;              ///< true, at the probe
    std::optional<double> shown_low, shown_high;  ///< what the probe showed; absent: no answer
    double delivered_ml = 0;                      ///< truly, within the point
    double powder_g = 0, alkalinity_dkh = 0, calcium_mg_l = 0;  ///< at its end
    std::uint32_t stirred_s = 0;
    std::array<std::uint32_t, kHoldsMax> held_s{};  ///< by index in `codes`
  };
  struct Second {
    double ph = 0;
    std::optional<double> shown;
    double delivered_ml = 0;
    double powder_g = 0;
    bool stirs = false;
    const rules::Holds* holds = nullptr;  ///< null: the program is down
    double alkalinity_dkh = 0, calcium_mg_l = 0;
  };
  void add(const Second& second);

  [[nodiscard]] const std::vector<Point>& points() const { return points_; }
  /// How long a point is; the last one may be shorter.
  [[nodiscard]] std::chrono::seconds step() const { return step_; }
  /// Codes of the holds that stood.
  [[nodiscard]] const std::vector<std::string>& codes() const { return codes_; }

 private:
  [[nodiscard]] std::size_t index_of(const std::string& code);
  void halve();

  std::chrono::seconds step_{60};
  std::int64_t filled_s_ = 0;  ///< of the last point
  std::vector<Point> points_;
  std::vector<std::string> codes_;
};

}  // namespace limegate::rehearsal
