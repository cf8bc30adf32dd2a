#include "app/event_stream.h"

namespace limegate::app {
namespace {

constexpr std::size_t kRecentMax = 100;
/// What is kept while the record can't be written; what comes then is dropped.
constexpr std::size_t kUnwrittenMax = 20000;

}  // namespace

void EventStream::raise(const std::string& station, const station::Event& event) {
  if (recent_.size() == kRecentMax) {
    recent_.erase(recent_.begin());
  }
  recent_.push_back({station, event});
  if (unwritten_.size() < kUnwrittenMax) {
    unwritten_.emplace_back(station, event);
  }
  if (station.empty()) {
    alerts_.take(event);
  }
  urgent_ = urgent_ || event.severity == station::Severity::alert;
  const Happened happened = recent_.back();  // a listener may raise an event of its own
  for (const Listener& listener : listeners_) {
    listener(happened);
  }
}

void EventStream::listen(Listener listener) {
  for (const Happened& happened : recent_) {
    listener(happened);
  }
  listeners_.push_back(std::move(listener));
}

EventStream::Unwritten EventStream::take_unwritten() {
  urgent_ = false;
  return std::exchange(unwritten_, {});
}

}  // namespace limegate::app
