#pragma once

#include <atomic>
#include <condition_variable>
#include <cstdint>
#include <deque>
#include <functional>
#include <memory>
#include <mutex>
#include <string>
#include <vector>

#include <mqtt/async_client.h>

#include "mqtt/link.h"

namespace limegate::mqtt {

/// What a reason code of MQTT 5 says: "Not authorized".
[[nodiscard]] std::string reason_text(int reason);
/// The reason code of a failed request, wherever paho has put it; below 0x80 if there is none.
[[nodiscard]] int reason_of(const ::mqtt::token& token);

/// Link's other half: paho's client, and the thread that alone calls it.
class Link::Core : public std::enable_shared_from_this<Link::Core> {
 public:
  Core(Settings settings, Message will, Post post, Listener listener);
  ~Core();
  Core(const Core&) = delete;
  Core& operator=(const Core&) = delete;
  Core(Core&&) = delete;
  Core& operator=(Core&&) = delete;

  /// The thread's life: jobs in their order, until the one that ends it.
  void work();
  void enqueue(std::function<void()> job);

  // What the loop asks for.
  void begin_attempt();
  [[nodiscard]] bool take_room(std::size_t count);
  [[nodiscard]] std::size_t room() const;
  void ask_for_room();
  void silence();

  // Jobs, in the thread.
  void connect(int attempt);
  void publish(int attempt, const std::vector<Message>& messages);
  void subscribe(int attempt, const std::vector<Filter>& filters);
  void finish(const std::vector<Message>& last_words);

  [[nodiscard]] int attempt() const { return attempt_; }
  [[nodiscard]] bool wait_until_finished(std::chrono::milliseconds within);

 private:
  /// paho's answers to one kind of request; it wants objects that outlive them.
  class Answers : public ::mqtt::iaction_listener {
   public:
    using Take = std::function<void(int attempt, const ::mqtt::token& token, bool succeeded)>;
    explicit Answers(Take take) : take_(std::move(take)) {}
    void on_success(const ::mqtt::token& token) override { answer(token, true); }
    void on_failure(const ::mqtt::token& token) override { answer(token, false); }

   private:
    void answer(const ::mqtt::token& token, bool succeeded) {
      take_(static_cast<int>(reinterpret_cast<std::intptr_t>(token.get_user_context())), token,
            succeeded);
    }
    Take take_;
  };

  [[nodiscard]] std::unique_ptr<::mqtt::async_client> make_client(int attempt);
  [[nodiscard]] ::mqtt::connect_options options(const std::string& password);
  [[nodiscard]] Failure failure_of(const ::mqtt::token& token) const;
  void diagnose(int attempt);
  void note_connected(int attempt, bool connected);
  void tell_failed(int attempt, const Failure& failure);
  void acknowledged(int attempt, const ::mqtt::token& token, bool succeeded);
  void subscribed(int attempt, const ::mqtt::token& token, bool succeeded);
  /// Posts to the loop, unless we are silenced by then.
  void tell(std::function<void()> what);

  const Settings settings_;
  const Message will_;
  const Listener listener_;

  mutable std::mutex mutex_;  ///< guards what follows, up to the client
  std::condition_variable changed_;
  Post post_;
  std::deque<std::function<void()>> jobs_;
  std::size_t under_way_ = 0;
  bool room_asked_ = false;
  std::size_t awaited_ = 0;  ///< subscriptions not answered yet
  std::string refusal_;      ///< of one of them
  bool connected_ = false;
  bool finished_ = false;
  std::atomic<int> attempt_{0};  ///< what belongs to an earlier one is not heard

  bool password_warned_ = false;  ///< in the thread only
  Answers connect_answers_;
  Answers publish_answers_;
  Answers subscribe_answers_;
  std::unique_ptr<::mqtt::async_client> client_;  ///< in the thread only; goes before its answers
};

}  // namespace limegate::mqtt
