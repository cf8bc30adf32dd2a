#pragma once

#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "alerts/kind.h"
#include "files/secret.h"
#include "units/time.h"

namespace limegate::alerts {

/// By SMTP (RFC 5321), never in clear text.
struct Mail {
  std::string host;
  int port = 587;
  /// TLS from the first byte (RFC 8314), or by STARTTLS (RFC 3207), without which nothing is sent.
  enum class Security { starttls, tls } security = Security::starttls;
  std::string user;  ///< empty: none is asked for
  files::SecretPlace password = {};
  std::string from;
  std::vector<std::string> to;
  std::string ca_file = {};  ///< PEM, of the authority to trust; empty: the system's own
};

/// A CloudEvent by HTTP POST.
struct Webhook {
  std::string url;
  files::SecretPlace token = {};  ///< a bearer token (RFC 6750); none: none is sent
  std::string ca_file = {};
};

/// A program of the owner's: the message in its environment and on its standard input.
struct Program {
  std::string path;
  Duration time_limit = std::chrono::seconds{30};
};

struct Destination {
  std::string name;
  /// It is sent there only if nobody has seen it for so long.
  Duration after{};
  Urgency least = Urgency::when_you_can;  ///< what is less urgent is not sent there
  std::variant<Mail, Webhook, Program> way;
};

/// Where messages go: what an owner's file says.
struct Delivery {
  std::vector<Destination> destinations;
  std::string state_dir = "/var/lib/limegate-deliver";  ///< of its queue
  std::string heartbeat_url = {};                       ///< empty: none
  Duration heartbeat_every = std::chrono::minutes{5};
  std::optional<Duration> all_is_well_at = {};  ///< a time of day by the wall; absent: never
};

}  // namespace limegate::alerts
