#include "station/disk_pace.h"

#include <variant>

namespace limegate::station {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

constexpr Duration kTryAgain = 60s;
/// And once a person was told: each try is a row more on a disk that is in trouble.
constexpr Duration kTryAgainLater = 5min;
/// A short stall is no news; one that lasts needs a person.
constexpr Duration kToldAfter = 2min;

constexpr const char* kDiskSlow = "disk-slow";

}  // namespace

void DiskPace::asked(Instant now, const Effects& effects) {
  for (const Effect& effect : effects) {
    if (std::holds_alternative<AppendPulse>(effect) || std::holds_alternative<AppendStir>(effect)) {
      waiting_.push_back(now);
    }
  }
}

void DiskPace::late(Instant now) {
  slow_until_ = now + (told_ ? kTryAgainLater : kTryAgain);
  slow_since_ = slow_since_.value_or(now);
  newest_late_ = now;
}

void DiskPace::durable(Instant now) {
  if (waiting_.empty()) {
    return;
  }
  if (now - waiting_.front() > kWrittenWithin) {
    late(now);
  }
  waiting_.pop_front();
}

void DiskPace::take(Instant now, const OutletReport& report) {
  if (report.disk_too_slow) {
    late(now);
  } else if (report.command == OutletReport::Command::run &&
             report.result != OutletReport::Result::refused) {
    slow_since_.reset();  // row and record were in time
  }
}

void DiskPace::step(Moment now, Effects& effects) {
  if (!waiting_.empty() && now.mono - waiting_.front() > kWrittenWithin) {
    late(now.mono);
  }
  if (!slow_since_ && told_) {
    told_ = false;
    effects.emplace_back(Raise{{now.wall,
                                Severity::info,
                                "disk-in-time",
                                "The disk writes in time again.",
                                {},
                                kDiskSlow}});
  } else if (slow_since_ && !told_ && newest_late_ - *slow_since_ >= kToldAfter) {
    told_ = true;
    effects.emplace_back(Raise{
        {now.wall, Severity::alert, kDiskSlow,
         "For " + rules::for_people(kToldAfter) + " the disk has taken more than " +
             rules::for_people(kWrittenWithin) +
             " to write a row, so nothing is dosed or stirred. Look at the SD card or drive: it "
             "may be worn out or full, or something else writes too much to it.",
         kDiskSlow}});
  }
}

}  // namespace limegate::station
