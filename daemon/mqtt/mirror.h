#pragma once

#include <cstddef>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include "mqtt/image.h"

namespace limegate::mqtt {

/// What is to be sent to a broker.
struct Message {
  std::string topic;
  std::string payload;
  enum class Kept { yes, no } kept = Kept::yes;  ///< whether the broker retains it
};

/// What the tree should look like on the broker beside what it looks like there, as far as it was
/// sent: the difference is what is published next. It is always newer than any queue would be.
/// Keeps to Homie's life cycle: a description changes only in `init`, and `ready` comes last.
/// Threads: one owner.   Memory: one entry a topic.
class Mirror {
 public:
  /// `base` is the domain with the version: "homie/5".
  explicit Mirror(std::string base) : base_(std::move(base)) {}

  /// Devices are published in this order. Nothing of one is published before it is described.
  std::size_t add(std::string device);
  void describe(std::size_t device, const std::string& description);
  void show(std::size_t device, const std::vector<Value>& values,
            const std::vector<std::pair<std::string, std::string>>& alerts);

  /// A new connection: nothing is known of what the broker has. No device is ready.
  void forget();
  /// From now on a device that is complete becomes ready.
  void allow_ready();

  /// A value that is published again although it has not changed: the answer to a `/set`.
  void repeat(std::size_t device, std::string_view node, std::string_view property);
  /// This stands at a topic of the device ("/gate/open"), and not by us. What differs from what was
  /// sent is sent again, what belongs to nothing is cleared. True if either is needed.
  bool found(std::size_t device, const std::string& path, const std::string& payload);

  /// The next messages in their order, at most so many; they count as sent.
  [[nodiscard]] std::vector<Message> take(std::size_t most);
  /// Nothing is left to send.
  [[nodiscard]] bool settled() const;

  /// "homie/5/limegate-reef"
  [[nodiscard]] std::string topic_of(std::size_t device) const;
  [[nodiscard]] const std::string& id_of(std::size_t device) const { return devices_[device].id; }
  [[nodiscard]] std::size_t size() const { return devices_.size(); }

 private:
  struct Shown {
    std::string wanted;               ///< empty: cleared
    std::optional<std::string> sent;  ///< absent: not known to the broker
  };
  struct Device {
    std::string id;
    Shown description;
    std::vector<std::string> paths;  ///< of `values`
    std::vector<Shown> values;
    std::map<std::string, Shown> alerts;
    std::set<std::string> strays;  ///< paths that are to be cleared
    enum class State { unknown, init, ready } state = State::unknown;
    bool changed = true;
  };
  class Batch;
  void take(Device& device, Batch& batch) const;
  static bool differs(Device& device, const std::string& path, const std::string& payload);

  std::string base_;
  std::vector<Device> devices_;
  bool ready_allowed_ = false;
};

}  // namespace limegate::mqtt
