#pragma once

#include <optional>
#include <set>
#include <string>
#include <vector>

#include "mqtt/link.h"
#include "mqtt/settings.h"
#include "station/records.h"
#include "units/time.h"

namespace limegate::mqtt {

/// What a person hears of a connection that comes and goes, and how long to wait before the next
/// attempt. Each reason is told once in an outage; a broker that stays away becomes an alert.
/// Threads: one owner.
class Outage {
 public:
  explicit Outage(const Settings& settings);

  using Events = std::vector<station::Event>;
  [[nodiscard]] Events failed(const Failure& reported, Moment now);
  void accepted(Instant now) { accepted_at_ = now; }  ///< by the broker
  void connected(Instant now);                        ///< with the whole tree standing
  /// Once a second.
  [[nodiscard]] Events tick(Moment now);

  /// How long to wait after the newest failure.
  [[nodiscard]] Duration back_off() const { return at_once_ ? Duration::zero() : back_off_; }

 private:
  [[nodiscard]] Failure judged(const Failure& failure, Instant now);

  Duration first_, most_, after_taken_over_, alert_after_;
  std::string place_;
  bool told_of_connection_ = false;
  std::optional<Instant> accepted_at_;
  std::optional<Instant> connected_since_;
  std::optional<Instant> away_since_;  ///< until a connection has proven itself
  std::set<std::string> told_;         ///< in this outage
  int short_in_a_row_ = 0;
  bool at_once_ = false;  ///< whether somebody listens now tells who ended the connection
  bool alert_ = false;
  bool taken_over_ = false;
  Duration back_off_;
};

}  // namespace limegate::mqtt
