// What flows beyond every command, or goes on until somebody ends it: it is counted, and told.

#include <algorithm>
#include <chrono>

#include "station/pump_duty.h"

namespace limegate::station {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

/// A growing dose is written down this often.
constexpr Duration kGrowthEvery = 10s;

constexpr const char* kOffLate = "pump-off-late";

}  // namespace

void PumpDuty::close_grown(Moment now, std::optional<Instant> off_since, Effects& effects) {
  off_since = off_since ? off_since : switched_off_at_;
  const Instant off = std::clamp(off_since.value_or(now.mono), sent_at_, now.mono);
  const Millilitres flowed = could_flow(off - sent_at_);
  // After a start it may have begun as early as its row: then nothing bounds it by its volume.
  const bool known = !taken_up_ || switched_off_at_.has_value();
  const bool early =
      off < sent_at_ + pulse_.duration && known && !outcome_unknown_ && !nobody_commanded_;
  const Millilitres counted =
      early ? std::min(flowed, pulse_.volume) : std::max(flowed, pulse_.volume);
  if (stamp(now).lifetime > pulse_.end.lifetime) {
    // It flowed later than its row says.
    pulse_.volume = counted;
    pulse_.end = stamp(now);
    effects.emplace_back(AppendPulse{pulse_});
  }
  close(nobody_commanded_ ? Fate::found
        : taken_up_       ? Fate::unsure
        : early           ? Fate::cut_short
                          : Fate::given,
        counted, effects);
  if (told_late_) {
    effects.emplace_back(
        Raise{{now.wall,
               Severity::info,
               "pump-off-confirmed",
               "The pump is confirmed off again, " + rules::for_people(off - ends_at_) + " late; " +
                   rules::volume_for_people(counted) + " count as given.",
               {},
               kOffLate}});
  }
}

void PumpDuty::grow(Moment now, Effects& effects) {
  // Switched off while the guard still writes its record: the run is void, and it reads off.
  const bool not_begun = nothing_was_sent_ || (run_outstanding_ && watch_.confirmed_off());
  if (!grows() || switched_off_at_ || not_begun || now.mono <= ends_at_ + kOverrunGrace) {
    return;
  }
  if (!told_late_ && !nobody_commanded_) {
    told_late_ = true;
    effects.emplace_back(
        Raise{{now.wall, Severity::alert, kOffLate,
               "The pump should have gone off " + rules::for_people(now.mono - ends_at_) +
                   " ago and is not confirmed to be off. Look at it, at its board and at the line "
                   "now; what may flow meanwhile is counted.",
               kOffLate}});
  }
  const Millilitres flowed = could_flow(now.mono - sent_at_);
  if (flowed - pulse_.volume >= could_flow(kGrowthEvery)) {
    pulse_.volume = flowed;
    pulse_.end = stamp(now);
    effects.emplace_back(AppendPulse{pulse_});
  }
}

void PumpDuty::found_on(Moment now, Effects& effects) {
  if (may_flow() || now.mono < excused_until_) {
    return;
  }
  if (phase_ != Phase::resting) {
    close(Fate::not_given, Millilitres{0.0}, effects);
  }
  // Nobody knows when it was switched on: at the earliest when it was last known to be off.
  sent_at_ = std::min(now.mono, watch_.last_off().value_or(known_off_at_));
  ends_at_ = now.mono;
  nobody_commanded_ = true;
  nothing_was_sent_ = outcome_unknown_ = run_outstanding_ = told_late_ = taken_up_ = false;
  switched_off_at_.reset();
  const Moment since{sent_at_, now.wall - (now.mono - sent_at_)};
  pulse_ = PulseRecord{++newest_id_, could_flow(now.mono - sent_at_), Duration::zero(),
                       stamp(since), stamp(now)};
  phase_ = Phase::ending;
  const bool again = found_at_ && dosing::age(*found_at_, stamp(now)) < 24h;
  found_ = again ? rules::Found::again : rules::Found::once;
  found_at_ = stamp(now);
  effects.emplace_back(AppendPulse{pulse_});
  effects.emplace_back(Raise{
      {now.wall, Severity::alert, "pump-found-on",
       "The pump was found on although nothing had switched it on from here. It is switched off. "
       "Since it was last known to be off, " +
           rules::for_people(now.mono - sent_at_) + " ago, " +
           rules::volume_for_people(pulse_.volume) +
           " may have flowed and count as given. Find out who or what switches it."}});
}

}  // namespace limegate::station
