#include "modbus/lanes.h"

#include <utility>

namespace limegate::modbus {

bool Lanes::add(Lane lane, Job&& job) {
  {
    const std::lock_guard lock{mutex_};
    auto& jobs = lane == Lane::urgent ? urgent_ : ordinary_;
    if (closed_ || jobs.size() >= kJobsMax) {
      return false;
    }
    jobs.push_back(std::move(job));
  }
  changed_.notify_one();
  return true;
}

std::optional<Lanes::Job> Lanes::take(std::optional<Instant> deadline) {
  std::unique_lock lock{mutex_};
  const auto has_news = [this] { return closed_ || !urgent_.empty() || !ordinary_.empty(); };
  if (deadline) {
    changed_.wait_until(lock, *deadline, has_news);
  } else {
    changed_.wait(lock, has_news);
  }
  if (closed_) {
    return std::nullopt;
  }
  return pop(urgent_.empty() ? ordinary_ : urgent_);
}

std::optional<Lanes::Job> Lanes::take_urgent() {
  const std::lock_guard lock{mutex_};
  return pop(urgent_);
}

std::optional<Lanes::Job> Lanes::pop(std::deque<Job>& lane) {
  if (lane.empty()) {
    return std::nullopt;
  }
  std::optional<Job> job{std::move(lane.front())};
  lane.pop_front();
  return job;
}

void Lanes::pause(Duration duration) {
  std::unique_lock lock{mutex_};
  changed_.wait_for(lock, duration, [this] { return closed_ || !urgent_.empty(); });
}

void Lanes::close() {
  {
    const std::lock_guard lock{mutex_};
    closed_ = true;
  }
  changed_.notify_one();
}

bool Lanes::is_closed() {
  const std::lock_guard lock{mutex_};
  return closed_;
}

}  // namespace limegate::modbus
