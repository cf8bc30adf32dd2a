#pragma once

#include <optional>
#include <string>
#include <vector>

#include "station/records.h"
#include "units/time.h"

namespace limegate::delivery {

/// Notices that the daemon itself is silent, dies again and again, was ended by its watchdog, or
/// refuses its config: none of that it can tell itself. Events out, as a station's.
/// Threads: one owner.
class Watch {
 public:
  /// The daemon answered, or did not.
  void heard(Moment now) { heard_at_ = now.mono; }
  /// How a run ended, as the service manager said and `limegate off` wrote down.
  struct End {
    std::string stamp;        ///< of its writing: a new one is a new end
    std::string result;       ///< $SERVICE_RESULT: "success", "exit-code", "signal", "watchdog" ...
    std::string exit_status;  ///< $EXIT_STATUS
  };
  /// No run has ended so far: the next end is news.
  void none_ended_yet() { any_end_ = true; }
  void ended(const End& end, Moment now, std::vector<station::Event>& events);
  /// Once a second.
  void tick(Moment now, std::vector<station::Event>& events);

 private:
  std::optional<Instant> heard_at_, began_at_;
  bool silent_told_ = false, crashes_told_ = false;
  std::string newest_end_;
  bool any_end_ = false;
  std::vector<Instant> crashes_;
  std::optional<Instant> refused_at_;
};

}  // namespace limegate::delivery
