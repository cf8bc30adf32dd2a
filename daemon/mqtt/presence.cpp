#include "mqtt/presence.h"

#include <algorithm>
#include <chrono>
#include <cstddef>
#include <utility>

namespace limegate::mqtt {
namespace {

/// From the last description of a device that is not ready yet to the next one.
constexpr Duration kGathered = std::chrono::seconds{10};

std::string path_of(const Value& value) { return std::string{value.node} + "/" + value.property; }

}  // namespace

bool Presence::take(std::vector<Value>& values, Description description, Instant now) {
  const bool first = newest_.empty();
  newest_.resize(values.size());
  Paths absent;
  bool gone = false;
  for (std::size_t i = 0; i < values.size(); ++i) {
    if (values[i].payload) {
      newest_[i] = *values[i].payload;
    }
    if (newest_[i].empty()) {
      const std::string path = path_of(values[i]);
      gone = gone || without_.count(path) == 0;
      absent.insert(path);
    }
  }
  const bool may = description == Description::may_change || now >= next_;
  const bool changes = first || gone || (may && absent != without_);
  if (changes) {
    without_ = std::move(absent);
    next_ = now + (description == Description::may_change ? std::min(kGathered, least_apart_)
                                                          : least_apart_);
  }
  for (std::size_t i = 0; i < values.size(); ++i) {
    values[i].payload = without_.count(path_of(values[i])) == 0 ? newest_[i] : "";
  }
  return changes;
}

}  // namespace limegate::mqtt
