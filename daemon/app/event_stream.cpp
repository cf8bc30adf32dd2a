#include "app/event_stream.h"

namespace limegate::app {
namespace {

constexpr std::size_t kRecentMax = 100;
/// What is kept while the record can't be written; what comes then is dropped.
constexpr std::size_t kUnwrittenMax = 20000;

}  // namespace

void EventStream::raise(const std::string& station, const station::Event& event) {
  each_(station, event);
  if (event.refusal) {
    note_refusal(station, *event.refusal);
  }
  if (repetition_.passes(station, event, clock_.now().mono)) {
    tell({station, event});
  }
}

void EventStream::note_refusal(const std::string& station, const station::Refusal& refusal) {
  const auto [known, first] = refused_.try_emplace(station, refusal);
  station::Refusal& last = known->second;
  const bool again =
      last.what == refusal.what && last.by == refusal.by && last.why == refusal.why && !first;
  const std::uint64_t times = again ? last.times + 1 : 1;
  last = refusal;
  last.times = times;
}

std::optional<station::Refusal> EventStream::refused(const std::string& station) const {
  const auto known = refused_.find(station);
  return known == refused_.end() ? std::nullopt : std::optional{known->second};
}

std::optional<station::Event> EventStream::last(const std::string& station) const {
  const auto known = last_.find(station);
  return known == last_.end() ? std::nullopt : std::optional{known->second};
}

void EventStream::tick() {
  for (const Repetition::LeftOut& left_out : repetition_.ended(clock_.now())) {
    tell({left_out.station, left_out.event});
  }
}

void EventStream::tell_counts() {
  for (const Repetition::LeftOut& left_out : repetition_.all(clock_.now().wall)) {
    tell({left_out.station, left_out.event});
  }
}

void EventStream::tell(const Happened& happened) {
  if (recent_.size() == kRecentMax) {
    recent_.erase(recent_.begin());
  }
  recent_.push_back(happened);
  last_[happened.station] = happened.event;
  if (unwritten_.size() < kUnwrittenMax) {
    unwritten_.emplace_back(happened.station, happened.event);
  }
  urgent_ = urgent_ || happened.event.severity == station::Severity::alert;
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
