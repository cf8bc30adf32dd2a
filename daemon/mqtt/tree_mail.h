#pragma once

#include <cstddef>
#include <map>
#include <mutex>
#include <string>
#include <string_view>
#include <vector>

#include "mqtt/token_bucket.h"
#include "units/time.h"

namespace limegate::mqtt {

/// What the broker has, or others publish, where our own tree stands: a value that is not ours, and
/// what stations left that are no more. It is judged in the thread that receives it.
/// Threads: any.   Memory: bounded.
class TreeMail {
 public:
  /// `base` is "homie/5"; the last of the devices is the root.
  TreeMail(std::string base, std::vector<std::string> devices);

  enum class Age { kept, fresh };
  /// Takes a message if it is about our tree, and no command. False: it is for somebody else.
  [[nodiscard]] bool offer(std::string_view topic, std::string_view payload, Age age, Instant now);
  /// A new connection: what became of the orphans is not known.
  void forget();

  /// What stands at a topic of a device.
  struct Said {
    std::size_t device;
    std::string path;  ///< "/gate/open"
    std::string payload;
  };
  struct Taken {
    std::vector<Said> said;
    /// Devices that the root had as children once: what lies below their topics is to be asked for.
    std::vector<std::string> orphans;
    std::vector<std::string> left_over;  ///< topics of orphans that the broker keeps
    bool missed = false;                 ///< there was more than is taken at once
  };
  /// All since the last time.
  [[nodiscard]] Taken take();

 private:
  /// A device that the root had as a child once. It is ours only if its own description names our
  /// root: a station may have become a daemon of its own.
  struct Orphan {
    bool ours = false;
    std::vector<std::string> kept;
  };

  [[nodiscard]] bool admit(std::size_t size, Instant now);
  void look_for_orphans(std::string_view description);
  void take_of_orphan(Orphan& orphan, std::string_view topic, std::string_view path,
                      std::string_view payload);

  const std::string base_;
  const std::vector<std::string> devices_;
  std::mutex mutex_;
  std::map<std::string, Orphan> orphans_;
  Taken waiting_;
  std::size_t bytes_ = 0;  ///< that wait
  TokenBucket bucket_;
};

}  // namespace limegate::mqtt
