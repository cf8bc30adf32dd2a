#include "delivery/watch.h"

#include <algorithm>
#include <chrono>
#include <utility>

namespace limegate::delivery {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using station::Severity;

constexpr Duration kSilent = 60s;
/// So many crashes within so long are no bad minute.
constexpr std::size_t kCrashes = 3;
constexpr Duration kCrashesWithin = 10min;
constexpr Duration kRunsAgain = 10s;
/// Without a crash for so long it is over.
constexpr Duration kCalm = 1h;
/// The exit code of a refused config (limegate(1)).
constexpr const char* kRefused = "2";

}  // namespace

void Watch::ended(const End& end, Moment now, std::vector<station::Event>& events) {
  const bool first = !std::exchange(any_end_, true);
  if (end.stamp == newest_end_) {
    return;
  }
  newest_end_ = end.stamp;
  if (first || end.result == "success") {
    return;  // of before this began
  }
  if (end.result == "exit-code" && end.exit_status == kRefused) {
    refused_at_ = now.mono;
    events.push_back({now.wall, Severity::alert, "config-refused",
                      "limegate refuses its config and does not run: nothing is dosed. "
                      "limegate check says what is wrong in the file.",
                      "config-refused"});
    return;
  }
  if (end.result == "watchdog") {
    events.push_back({now.wall, Severity::alert, "daemon-watchdog",
                      "limegate hung and was ended by its watchdog; the outlets were switched off "
                      "and it was started again."});
  }
  crashes_.push_back(now.mono);
  const auto recent =
      static_cast<std::size_t>(std::count_if(crashes_.begin(), crashes_.end(), [&](Instant at) {
        return now.mono - at < kCrashesWithin;
      }));
  if (recent >= kCrashes && !crashes_told_) {
    crashes_told_ = true;
    events.push_back({now.wall, Severity::alert, "daemon-crashes",
                      "limegate ends again and again (" + end.result +
                          "); it hardly doses like that. Its journal says why: journalctl -u "
                          "limegate.",
                      "daemon-crashes"});
  }
}

void Watch::tick(Moment now, std::vector<station::Event>& events) {
  began_at_ = began_at_.value_or(now.mono);
  const Instant last = std::max(heard_at_.value_or(*began_at_), *began_at_);
  const bool silent = now.mono - last >= kSilent;
  if (silent && !silent_told_) {
    silent_told_ = true;
    events.push_back({now.wall, Severity::alert, "daemon-silent",
                      "limegate does not answer: it does not run, or hangs. Nothing is dosed and "
                      "nothing is watched.",
                      "daemon-silent"});
  }
  const bool answers = heard_at_ && now.mono - *heard_at_ < kSilent;
  if (answers && std::exchange(silent_told_, false)) {
    events.push_back(
        {now.wall, Severity::info, "daemon-answers", "limegate answers.", {}, "daemon-silent"});
  }
  // The last answers of the run that ended are no sign of another.
  if (answers && refused_at_ && *heard_at_ - *refused_at_ >= kRunsAgain) {
    refused_at_.reset();
    events.push_back({now.wall,
                      Severity::info,
                      "config-taken",
                      "limegate runs with its config.",
                      {},
                      "config-refused"});
  }
  crashes_.erase(std::remove_if(crashes_.begin(), crashes_.end(),
                                [&](Instant at) { return now.mono - at >= kCalm; }),
                 crashes_.end());
  if (answers && crashes_told_ && crashes_.empty()) {
    crashes_told_ = false;
    events.push_back({now.wall,
                      Severity::info,
                      "daemon-calm",
                      "limegate has run for an hour.",
                      {},
                      "daemon-crashes"});
  }
}

}  // namespace limegate::delivery
