#pragma once

#include <string>
#include <vector>

#include "station/station.h"
#include "units/time.h"

namespace limegate::shell {

/// What a person released while no daemon ran (station/release_note.h): it takes effect once the
/// start has shown that its cause is gone. What is not shown within two minutes, or for a climb
/// when half an hour was watched, is given up: what happens later the person did not know.
class NotedReleases {
 public:
  /// Takes the notes out of `latches`. Those whose latch is not there are over at once.
  void take_from(std::vector<std::string>& latches, Instant now);
  /// No note counts any more, and none of `latches`, which it takes out: the ledger was away, and
  /// what was latched meanwhile is none that a person knew of.
  void give_up(std::vector<std::string>& latches);
  /// This hold is latched, or asked for, anew.
  void latched_anew(const std::string& hold);

  struct Over {
    std::string hold;
    station::Answer answer;
    station::Effects effects;  ///< of the release
  };
  /// Once a second, after the core's step: those that are over now.
  [[nodiscard]] std::vector<Over> try_again(station::Station& core, Moment now);

 private:
  std::vector<std::string> waiting_, given_up_;
  Instant begun_{};
};

}  // namespace limegate::shell
