#pragma once

#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "station/records.h"
#include "units/time.h"

namespace limegate::station {

/// Something that needs a person.
struct Alert {
  std::string id;  ///< stable, lower case with hyphens
  std::string sentence;
  WallTime since;
  /// What it needs to go away: its cause to end, or a person who has seen it.
  enum class Until { over, seen } until = Until::over;
  enum class Seen { no, yes } seen = Seen::no;
  friend bool operator==(const Alert&, const Alert&) = default;
};

/// Those that wait for a person who sees them: a later run can't find them out again.
[[nodiscard]] std::vector<Alert> unseen_of(const std::vector<Alert>& alerts);

/// The alerts that stand, oldest first, kept from the stream of events.
/// Threads: one owner.   Memory: one entry for each kind of alert.
class Alerts {
 public:
  Alerts() = default;
  /// Those that an earlier run left unseen.
  explicit Alerts(std::vector<Alert> unseen) : standing_(std::move(unseen)) {}

  /// Begins, renews or ends what the event says. A renewed alert has not been seen.
  void take(const Event& event);

  /// Marks an alert as seen; one that waited for no more is gone. False if there is none such.
  bool acknowledge(std::string_view id);
  /// The same for all; how many there were that nobody had seen.
  std::size_t acknowledge_all();

  [[nodiscard]] const std::vector<Alert>& standing() const { return standing_; }

 private:
  std::vector<Alert> standing_;
};

}  // namespace limegate::station
