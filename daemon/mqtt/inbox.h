#pragma once

#include <cstdint>
#include <mutex>
#include <string>
#include <string_view>
#include <vector>

#include "mqtt/set_message.h"
#include "mqtt/token_bucket.h"
#include "station/records.h"
#include "units/time.h"

namespace limegate::mqtt {

/// What comes from the broker, before anything is made of it. It is judged in the thread that
/// receives it, so that a flood never reaches the loop: a few commands a second pass, the rest is
/// counted.
/// Threads: any.   Memory: bounded.
class Inbox {
 public:
  /// `base` is "homie/5"; topics of other devices than these are not ours.
  Inbox(std::string base, std::vector<std::string> devices);

  struct Command {
    std::size_t device;  ///< index into the devices
    SetTopic topic;
    std::string payload;
  };
  /// Why a message was dropped without a look at what it says.
  struct Dropped {
    std::uint64_t retained = 0;  ///< a command that may be of any age
    std::uint64_t oversized = 0;
    std::uint64_t not_ours = 0;
    std::uint64_t too_many = 0;
    [[nodiscard]] std::uint64_t sum() const { return retained + oversized + not_ours + too_many; }
  };
  struct Taken {
    std::vector<Command> commands;
    Dropped dropped;
  };

  /// Takes a message, or drops it. True if the loop should come and take: only for the first.
  [[nodiscard]] bool offer(std::string_view topic, std::string_view payload, bool retained,
                           Instant now);
  /// All since the last time.
  [[nodiscard]] Taken take();

 private:
  const std::string base_;
  const std::vector<std::string> devices_;
  std::mutex mutex_;
  Taken waiting_;
  TokenBucket bucket_;
};

/// Tells of messages that were dropped, and, so that their sender finds it, as of a refusal.
[[nodiscard]] station::Event told_of(const Inbox::Dropped& dropped, WallTime at);

}  // namespace limegate::mqtt
