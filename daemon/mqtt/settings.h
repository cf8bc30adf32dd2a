#pragma once

#include <string>

#include "files/secret.h"
#include "units/time.h"

namespace limegate::mqtt {

/// How and where the device tree is published.
struct Settings {
  std::string host;
  int port = 1883;
  enum class Transport { plain, tls } transport = Transport::plain;
  std::string ca_file;  ///< PEM, of the authority to trust; empty: the system's own
  std::string domain = "homie";
  std::string device = "limegate";  ///< id of the root device, and the client id
  std::string user;                 ///< empty: none
  files::SecretPlace password;
  Duration publish_every =
      std::chrono::seconds{5};  ///< what changes all the time, at most so often

  std::string discovery_prefix;       ///< of the discovery documents; empty: none are published
  std::string discovery_birth_topic;  ///< where the hub that reads them says that it came back

  // No owner's file sets these; the tests shorten them.
  Duration keep_alive = std::chrono::seconds{15};  ///< whole seconds
  /// From one step of a new connection to the next. Longer than a name lookup and a handshake take.
  Duration answer_within = std::chrono::minutes{1};
  Duration back_off_first = std::chrono::seconds{1};
  Duration back_off_max = std::chrono::seconds{30};
  Duration back_off_taken_over = std::chrono::minutes{5};
  Duration away_alert_after = std::chrono::minutes{10};
  Duration discovery_jitter_max = std::chrono::seconds{5};
  Duration begins_within = std::chrono::seconds{10};    ///< from the start: so long not ready
  Duration descriptions_apart = std::chrono::hours{1};  ///< at least, for what comes later
};

/// What all topics of the tree begin with: "homie/5". The convention's major version is a level.
[[nodiscard]] inline std::string base_of(const Settings& settings) {
  return settings.domain + "/5";
}

}  // namespace limegate::mqtt
