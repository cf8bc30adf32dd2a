#include "mqtt/link_core.h"

#include <chrono>
#include <utility>

namespace limegate::mqtt {
namespace {

/// No more are under way than this, whatever the broker would take.
constexpr std::size_t kUnderWayMax = 64;

}  // namespace

Link::Core::Core(Settings settings, Message will, Post post, Listener listener)
    : settings_(std::move(settings)),
      will_(std::move(will)),
      listener_(std::move(listener)),
      post_(std::move(post)),
      connect_answers_([this](int attempt, const ::mqtt::token& token, bool succeeded) {
        if (succeeded) {
          note_connected(attempt, true);
          tell([this, attempt] {
            if (attempt == attempt_) {
              listener_.connected();
            }
          });
        } else if (settings_.transport == Settings::Transport::tls &&
                   reason_of(token) < ::mqtt::UNSPECIFIED_ERROR) {
          enqueue([this, attempt] { diagnose(attempt); });
        } else {
          tell_failed(attempt, failure_of(token));
        }
      }),
      publish_answers_([this](int attempt, const ::mqtt::token& token, bool succeeded) {
        acknowledged(attempt, token, succeeded);
      }),
      subscribe_answers_([this](int attempt, const ::mqtt::token& token, bool succeeded) {
        subscribed(attempt, token, succeeded);
      }) {}

Link::Core::~Core() = default;

void Link::Core::work() {
  std::unique_lock lock{mutex_};
  while (!finished_) {
    changed_.wait(lock, [this] { return !jobs_.empty(); });
    const auto job = std::move(jobs_.front());
    jobs_.pop_front();
    lock.unlock();
    job();
    lock.lock();
  }
}

void Link::Core::enqueue(std::function<void()> job) {
  const std::lock_guard lock{mutex_};
  jobs_.push_back(std::move(job));
  changed_.notify_all();
}

void Link::Core::begin_attempt() {
  const std::lock_guard lock{mutex_};
  ++attempt_;
  under_way_ = 0;
  room_asked_ = false;
  connected_ = false;
}

bool Link::Core::take_room(std::size_t count) {
  const std::lock_guard lock{mutex_};
  if (under_way_ + count > kUnderWayMax) {
    return false;
  }
  under_way_ += count;
  return true;
}

std::size_t Link::Core::room() const {
  const std::lock_guard lock{mutex_};
  return kUnderWayMax - under_way_;
}

void Link::Core::ask_for_room() {
  const std::lock_guard lock{mutex_};
  room_asked_ = true;
}

void Link::Core::silence() {
  const std::lock_guard lock{mutex_};
  post_ = nullptr;
}

void Link::Core::tell(std::function<void()> what) {
  const std::lock_guard lock{mutex_};
  if (post_) {
    // Kept alive by what it tells: the loop may run it after Link has gone.
    post_([self = shared_from_this(), what = std::move(what)] {
      const bool silenced = [&] {
        const std::lock_guard again{self->mutex_};
        return !self->post_;
      }();
      if (!silenced) {
        what();
      }
    });
  }
}

void Link::Core::note_connected(int attempt, bool connected) {
  const std::lock_guard lock{mutex_};
  if (attempt == attempt_) {
    connected_ = connected;
  }
}

void Link::Core::tell_failed(int attempt, const Failure& failure) {
  note_connected(attempt, false);
  tell([this, attempt, failure] {
    if (attempt == attempt_) {
      listener_.failed(failure);
    }
  });
}

void Link::Core::acknowledged(int attempt, const ::mqtt::token& token, bool succeeded) {
  bool room = false;
  {
    const std::lock_guard lock{mutex_};
    if (attempt != attempt_ || under_way_ == 0) {
      return;
    }
    --under_way_;
    room = room_asked_ && under_way_ <= kUnderWayMax / 4;
    room_asked_ = room_asked_ && !room;
  }
  if (room) {
    tell([this, attempt] {
      if (attempt == attempt_) {
        listener_.room();
      }
    });
  }
  if (!succeeded && reason_of(token) >= ::mqtt::UNSPECIFIED_ERROR) {
    tell([this, why = reason_text(reason_of(token))] {
      listener_.warned("The MQTT broker refuses what we publish (" + why +
                       "): its access list must let us write below our own device.");
    });
  }
}

void Link::Core::subscribed(int attempt, const ::mqtt::token& token, bool succeeded) {
  std::string refusal;
  {
    const std::lock_guard lock{mutex_};
    if (attempt != attempt_ || awaited_ == 0) {
      return;
    }
    if (!succeeded) {
      refusal_ = reason_text(reason_of(token));
    }
    if (--awaited_ > 0) {
      return;
    }
    refusal = refusal_;
  }
  tell([this, attempt, refusal] {
    if (attempt == attempt_) {
      listener_.subscribed(refusal);
    }
  });
}

bool Link::Core::wait_until_finished(std::chrono::milliseconds within) {
  std::unique_lock lock{mutex_};
  return changed_.wait_for(lock, within, [this] { return finished_; });
}

}  // namespace limegate::mqtt
