#include "station/attended.h"

#include <algorithm>
#include <chrono>
#include <variant>

namespace limegate::station {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

/// A run that has not come to its end by then is given up: nobody stands there any more.
constexpr Duration kAttendedFor = 30min;

bool passing(const rules::Hold& hold) {
  return std::holds_alternative<rules::ProbeDisturbed>(hold);
}

}  // namespace

std::string against_attended(const rules::Holds& holds) {
  std::string text;
  for (const rules::Hold& hold : holds) {
    text += passing(hold) ? "" : " " + rules::sentence_of(hold);
  }
  return text;
}

void AttendedRun::begin(Moment now, Millilitres volume, Effects& effects) {
  run_ = Run{volume, Millilitres{0.0}, Duration::zero(), now.mono + kAttendedFor};
  effects.emplace_back(
      Raise{{now.wall, Severity::info, "attended-run",
             "An attended run of " + rules::volume_for_people(volume) + " begins."}});
}

Millilitres AttendedRun::next_pulse(Millilitres largest) const {
  const Millilitres most = std::min(largest, dosing::longest_pulse(plan_));
  return dosing::in_whole_steps(std::min(most, run_->remaining), plan_);
}

std::optional<Millilitres> AttendedRun::go_on(Moment now, const rules::Holds& holds,
                                              Millilitres largest, Effects& effects) {
  // What is left of whole steps may be a rounding.
  if (!(run_->remaining > dosing::least_pulse(plan_) / 2.0)) {
    end(now, "", effects);
  } else if (!std::all_of(holds.begin(), holds.end(), passing)) {
    end(now, ", held back." + against_attended(holds) + " So far", effects);
  } else if (now.mono >= run_->give_up) {
    end(now, ", given up after " + rules::for_people(kAttendedFor), effects);
  } else if (holds.empty()) {
    const Millilitres volume = next_pulse(largest);
    run_->remaining -= volume;
    return volume;
  }
  return std::nullopt;
}

void AttendedRun::end(Moment now, const std::string& why, Effects& effects) {
  effects.emplace_back(Raise{
      {now.wall, Severity::info, "attended-run-over",
       "The attended run is over" + why + ": the pump ran for " + rules::for_people(run_->ran) +
           ", " + rules::volume_for_people(run_->counted) + " are counted at the highest rate."}});
  measurable_ = Measurable{run_->ran, now.mono + kMeasurableFor};
  run_.reset();
}

void AttendedRun::counted(const ClosePulse& closed) {
  run_->counted += closed.counted;
  run_->ran += closed.fate == Fate::not_given
                   ? Duration::zero()
                   : minutes_of(closed.counted.count() / plan_.pump_rate.count());
}

std::optional<AttendedRun::Shown> AttendedRun::shown() const {
  return run_          ? std::optional{Shown{true, run_->ran}}
         : measurable_ ? std::optional{Shown{false, measurable_->ran}}
                       : std::nullopt;
}

std::optional<Duration> AttendedRun::measurable(Instant now) const {
  if (run_ || !measurable_ || now > measurable_->until || measurable_->ran < kMeasurableFrom) {
    return std::nullopt;
  }
  return measurable_->ran;
}

}  // namespace limegate::station
