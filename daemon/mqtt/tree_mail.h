#pragma once

#include <cstddef>
#include <mutex>
#include <string>
#include <string_view>
#include <unordered_set>
#include <vector>

#include "units/time.h"

namespace limegate::mqtt {

/// What the broker has, or others publish, where our own tree stands: a value that is not ours, and
/// what stations left that are no more. It is judged in the thread that receives it.
/// Threads: any.   Memory: bounded.
class TreeMail {
 public:
  /// `base` is "homie/5"; the last of the devices is the root.
  TreeMail(std::string base, std::vector<std::string> devices);

  /// Takes a message if it is about our tree, and no command. False: it is for somebody else.
  [[nodiscard]] bool offer(std::string_view topic, std::string_view payload, Instant now);

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
  };
  /// All since the last time.
  [[nodiscard]] Taken take();

 private:
  void look_for_orphans(std::string_view description);

  const std::string base_;
  const std::vector<std::string> devices_;
  std::mutex mutex_;
  std::unordered_set<std::string> orphans_;
  Taken waiting_;
  double tokens_;
  Instant filled_{};
};

}  // namespace limegate::mqtt
