#pragma once

#include <string>
#include <vector>

#include "station/station.h"
#include "units/time.h"

namespace limegate::shell {

/// What a person released while no daemon ran: it takes effect once the start has shown that its
/// cause is gone, and is given up where that does not come within two hours.
class NotedReleases {
 public:
  /// Takes the notes out of `latches`.
  void take_from(std::vector<std::string>& latches, Instant now);

  struct Tried {
    std::string note;  ///< the code under which it was kept: it is over
    station::Answer answer;
    station::Effects effects;  ///< of the release
  };
  /// Once a second, after the core's step: those that are over now.
  [[nodiscard]] std::vector<Tried> try_again(station::Station& core, Moment now);

 private:
  std::vector<std::string> holds_;
  Instant until_{};
};

}  // namespace limegate::shell
