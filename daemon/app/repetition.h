#pragma once

#include <chrono>
#include <cstddef>
#include <map>
#include <string>
#include <utility>
#include <vector>

#include "station/records.h"
#include "units/time.h"

namespace limegate::app {

/// Keeps a part that flaps from flooding the stream of events: the first few of a kind pass, the
/// others are counted, and when a window ends one event tells how many were left out. While it goes
/// on only the counts are told; a calm window ends that. A kind is a station and a code.
/// Threads: one owner.   Memory: one entry for each kind of the last window.
class Repetition {
 public:
  /// So many of a kind pass in a window. A pulse a minute, the most there is, always passes.
  static constexpr std::size_t kMost = 12;
  static constexpr Duration kWindow = std::chrono::minutes{10};

  struct LeftOut {
    std::string station;
    station::Event event;  ///< code "repeated-" + the code that was left out
  };

  /// Counts an event, and says whether it is to be told. Alerts always are.
  [[nodiscard]] bool passes(const std::string& station, const station::Event& event, Instant now);

  /// What to tell of windows that have ended by now. Ask once a second.
  [[nodiscard]] std::vector<LeftOut> ended(Moment now);
  /// The same of every window, ended or not, for the end of the program.
  [[nodiscard]] std::vector<LeftOut> all(WallTime now);

 private:
  using Kind = std::pair<std::string, std::string>;
  struct Count {
    Instant began;
    std::size_t seen = 0;      ///< in this window
    std::size_t left_out = 0;  ///< of those
    bool flooding = false;     ///< the window before had too many
    station::Event latest = {};
  };
  [[nodiscard]] static LeftOut told(const Kind& kind, const Count& count, WallTime now);

  std::map<Kind, Count> counts_;
};

}  // namespace limegate::app
