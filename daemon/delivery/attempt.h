#pragma once

#include <optional>
#include <string>

#include "alerts/destination.h"
#include "delivery/envelope.h"
#include "units/time.h"

namespace limegate::delivery {

/// What came of one attempt to deliver a message.
struct Attempt {
  enum class Came {
    delivered,
    not_now,  ///< it may work later, also where the destination refuses it by now
    never     ///< this message will not be taken, whatever is tried
  } came = Came::not_now;
  std::string sentence;                     ///< one line for people, without any secret
  std::optional<Duration> not_before = {};  ///< the destination asked for so much patience
};

/// Each blocks, for 45 s at most (a program: for its own limit), and runs in a thread of its own.
/// `event` = the CloudEvent as it is.
[[nodiscard]] Attempt send_mail(const alerts::Mail& mail, const Envelope& envelope);
[[nodiscard]] Attempt post(const alerts::Webhook& webhook, const std::string& event);
[[nodiscard]] Attempt run_program(const alerts::Program& program, const Envelope& envelope);
/// The heartbeat: a GET that means "alive".
[[nodiscard]] Attempt beat(const std::string& url);

[[nodiscard]] Attempt attempt(const alerts::Destination& destination, const Envelope& envelope,
                              const std::string& event);

}  // namespace limegate::delivery
