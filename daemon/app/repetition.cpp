#include "app/repetition.h"

#include <fmt/format.h>

namespace limegate::app {

bool Repetition::passes(const std::string& station, const station::Event& event, Instant now) {
  if (event.severity == station::Severity::alert) {
    return true;
  }
  Count& count = counts_.try_emplace({station, event.code}, Count{now}).first->second;
  ++count.seen;
  if (!count.flooding && count.seen <= kMost) {
    return true;
  }
  ++count.left_out;
  count.latest = event;
  return false;
}

std::vector<Repetition::LeftOut> Repetition::ended(Moment now) {
  std::vector<LeftOut> told_now;
  for (auto entry = counts_.begin(); entry != counts_.end();) {
    auto& [kind, count] = *entry;
    if (now.mono - count.began < kWindow) {
      ++entry;
      continue;
    }
    if (count.left_out > 0 || count.flooding) {
      told_now.push_back(told(kind, count, now.wall));
    }
    if (count.seen > kMost) {
      count = {now.mono, 0, 0, true, count.latest};
      ++entry;
    } else {
      entry = counts_.erase(entry);
    }
  }
  return told_now;
}

std::vector<Repetition::LeftOut> Repetition::all(WallTime now) {
  std::vector<LeftOut> told_now;
  for (const auto& [kind, count] : counts_) {
    if (count.left_out > 0) {
      told_now.push_back(told(kind, count, now));
    }
  }
  counts_.clear();
  return told_now;
}

Repetition::LeftOut Repetition::told(const Kind& kind, const Count& count, WallTime now) {
  constexpr auto minutes = std::chrono::duration_cast<std::chrono::minutes>(kWindow).count();
  const std::string how_many = count.left_out == 0 ? "no" : fmt::format("{}", count.left_out);
  const char* calm = count.seen > kMost ? "" : " Each is told again from now on.";
  return {kind.first,
          {now, count.latest.severity, "repeated-" + kind.second,
           fmt::format("{} ... {} more like it within {} min.{}", count.latest.sentence, how_many,
                       minutes, calm)}};
}

}  // namespace limegate::app
