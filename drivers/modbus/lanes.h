#pragma once

#include <condition_variable>
#include <cstddef>
#include <deque>
#include <functional>
#include <mutex>
#include <optional>

#include "units/time.h"

namespace limegate::modbus {

/// The work waiting for a bus thread: an urgent lane (off commands) that overtakes an ordinary one.
/// Both are bounded. Waiting costs no wake-ups: the thread sleeps until a job or its deadline.
/// Threads: add and close from any thread; the rest from the bus thread.
class Lanes {
 public:
  using Job = std::function<void()>;
  enum class Lane { ordinary, urgent };
  static constexpr std::size_t kJobsMax = 256;  ///< in each lane

  /// False when the lane is full or closed; the job is then untouched and not queued.
  [[nodiscard]] bool add(Lane lane, Job&& job);

  /// The next job, urgent ones first; nothing when `deadline` passes or the lanes are closed.
  [[nodiscard]] std::optional<Job> take(std::optional<Instant> deadline);

  /// The next urgent job if one is waiting now, also after closing.
  [[nodiscard]] std::optional<Job> take_urgent();

  /// Waits that long, but no longer than until an urgent job comes or the lanes close.
  void pause(Duration duration);

  void close();
  [[nodiscard]] bool is_closed();

 private:
  std::optional<Job> pop(std::deque<Job>& lane);

  std::mutex mutex_;
  std::condition_variable changed_;
  std::deque<Job> urgent_;
  std::deque<Job> ordinary_;
  bool closed_ = false;
};

}  // namespace limegate::modbus
