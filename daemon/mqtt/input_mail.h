#pragma once

#include <cstddef>
#include <mutex>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "rules/owner_rule.h"

namespace limegate::mqtt {

/// Where somebody else publishes an input of the owner's rules.
struct InputTopic {
  std::string topic;
  rules::Input::Kind kind;
};

/// A payload as a value: a plain number, or on, off, true, false, 1 and 0 of a digital input, in
/// any case, with blanks around it or none. Absent: it is none of these.
[[nodiscard]] std::optional<double> read_input(std::string_view payload, rules::Input::Kind kind);

/// The newest of what came for each input. The loop takes it once a second: a flood costs it
/// nothing, and what was overtaken within a second is not seen.
/// Threads: any.   Memory: bounded.
class InputMail {
 public:
  explicit InputMail(std::vector<InputTopic> topics);

  enum class Age { fresh, kept };  ///< kept: by the broker, so it may be of any age
  /// Takes a message if it is for an input; one that was kept tells nothing and is dropped. False:
  /// it is for somebody else.
  [[nodiscard]] bool offer(std::string_view topic, std::string_view payload, Age age);

  struct News {
    std::size_t input;  ///< index into the topics
    std::string payload;
  };
  /// All since the last time, in the order of the topics.
  [[nodiscard]] std::vector<News> take();

 private:
  const std::vector<InputTopic> topics_;
  std::mutex mutex_;
  std::vector<std::optional<std::string>> waiting_;  ///< by topic
};

}  // namespace limegate::mqtt
