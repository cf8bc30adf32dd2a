#pragma once

#include <cstddef>
#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "mqtt/mirror.h"
#include "mqtt/settings.h"

namespace limegate::mqtt {

/// Why there is no connection.
struct Failure {
  enum class Kind {
    unreachable,  ///< nobody answers, or the connection broke
    sent_away,    ///< the broker ended the connection and said why, and it is not our id
    refused,      ///< the broker, or we, will have none of it until a person changes something
    taken_over    ///< another client came with our id
  } kind;
  std::string why;  ///< half a sentence: "the broker does not answer"
};

/// The connection to one broker, by paho over MQTT 5. Whatever might wait - paho's own lock, a name
/// lookup, a handshake - waits in a thread of this class, never in the caller's.
/// Threads: the loop calls; answers are posted to the loop, but for `arrived`.
class Link {
 public:
  struct Listener {
    std::function<void()> connected;
    std::function<void(const Failure&)> failed;  ///< no connection came about, or it broke
    std::function<void(const std::string& refusal)> subscribed;  ///< empty: granted
    std::function<void()> room;                                  ///< see `ask_for_room`
    /// What a person should know and what stops nothing: a publish refused, a readable password.
    std::function<void(const std::string& sentence)> warned;
    /// In paho's thread: be quick. True = `mail` shall follow in the loop.
    std::function<bool(const std::string& topic, const std::string& payload, bool retained)>
        arrived;
    std::function<void()> mail;
  };
  using Post = std::function<void(std::function<void()>)>;

  struct Filter {
    std::string topic;
    /// `news`: with word of whether it was published to be kept. `values`: the same without, so
    /// that whoever publishes may keep it. What the broker kept is of any age: only `kept_too` gets
    /// it.
    enum class Gets { news, values, kept_too } gets;
  };

  /// `will` is what the broker says of us when we are gone without a word.
  Link(const Settings& settings, Message will, Post post, Listener listener);
  ~Link();  ///< as `finish` with nothing to say
  Link(const Link&) = delete;
  Link& operator=(const Link&) = delete;
  Link(Link&&) = delete;
  Link& operator=(Link&&) = delete;

  /// One attempt, on a connection of its own: whatever stood or was tried before is ended, and not
  /// heard any more. `connected` or `failed` should come of it; who waits for it sets a limit.
  void connect();
  void publish(std::vector<Message> messages);
  void subscribe(std::vector<Filter> filters);

  /// How many more messages may be under way. Nothing beyond is queued anywhere.
  [[nodiscard]] std::size_t room() const;
  /// `room` is told once most messages have arrived.
  void ask_for_room();

  /// Says its last words if it is connected, and disconnects. Takes two seconds at most; nothing is
  /// posted afterwards.
  void finish(std::vector<Message> last_words);

 private:
  class Core;
  std::shared_ptr<Core> core_;
};

}  // namespace limegate::mqtt
