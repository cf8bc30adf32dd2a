#include "signal/conditioner.h"

#include <algorithm>
#include <cmath>

namespace limegate::signal {

bool Conditioner::plausible(double value) const {
  // Both comparisons are false for NaN, so NaN is implausible without a word of its own.
  return value >= conditioning_.plausible_low && value <= conditioning_.plausible_high;
}

void Conditioner::forget_before_window(Instant at) {
  bool extreme_gone = false;
  // The last sample before the window stays, so that a probe that is polled slowly is compared too.
  while (recent_.size() > 1 && at - recent_[1].at > conditioning_.jump_window) {
    const Instant gone = recent_.front().at;
    extreme_gone = extreme_gone || gone == lowest_.at || gone == highest_.at;
    recent_.pop_front();
  }
  if (extreme_gone) {
    lowest_ = highest_ = recent_.front();
    for (const Past& past : recent_) {
      widen_by(past);
    }
  }
}

void Conditioner::widen_by(const Past& past) {
  // Of equal values the newest counts: it stays for longest.
  if (past.value <= lowest_.value) {
    lowest_ = past;
  }
  if (past.value >= highest_.value) {
    highest_ = past;
  }
}

bool Conditioner::jumped(double value, Instant at) {
  forget_before_window(at);
  const bool jump = !recent_.empty() && (value - lowest_.value >= conditioning_.jump ||
                                         highest_.value - value >= conditioning_.jump);
  if (jump) {
    // What follows is compared with where it jumped to; a jump back is a jump of its own.
    recent_.clear();
  }
  recent_.push_back({at, value});
  if (recent_.size() == 1) {
    lowest_ = highest_ = recent_.front();
  } else {
    widen_by(recent_.back());
  }
  return jump;
}

void Conditioner::accept(double value, Moment at) {
  const bool first = !newest_at_.has_value();
  newest_ = value;
  newest_at_ = at;
  fault_since_newest_ = false;
  if (!plausible(value)) {
    unsteady_until_ = at.mono + conditioning_.steady_for;
    return;
  }
  if (jumped(value, at.mono)) {
    unsteady_until_ = at.mono + conditioning_.steady_for;
    // Values from before the jump would make the median lag behind what the probe now shows.
    kept_count_ = 0;
    kept_next_ = 0;
  }
  kept_[kept_next_] = value;
  kept_next_ = (kept_next_ + 1) % kMedianLength;
  kept_count_ = std::min(kept_count_ + 1, kMedianLength);
  median_ = median();
  // Half a digit: a decimal value that went through a float differs from itself in the last bits.
  if (first || !(std::abs(value - unchanged_value_) < conditioning_.resolution / 2)) {
    unchanged_value_ = value;
    unchanged_since_ = at.mono;
  }
}

void Conditioner::accept_fault() { fault_since_newest_ = true; }

double Conditioner::median() const {
  std::array<double, kMedianLength> sorted{};
  for (std::size_t i = 0; i < kept_count_; ++i) {
    std::size_t place = i;
    for (; place > 0 && sorted[place - 1] > kept_[i]; --place) {
      sorted[place] = sorted[place - 1];
    }
    sorted[place] = kept_[i];
  }
  const std::size_t middle = kept_count_ / 2;
  return kept_count_ % 2 == 1 ? sorted[middle] : (sorted[middle - 1] + sorted[middle]) / 2;
}

Reading Conditioner::reading(Instant now) const {
  Reading reading;
  if (!newest_at_) {
    return reading;
  }
  reading.newest = newest_;
  reading.at = *newest_at_;
  reading.age = now - newest_at_->mono;
  if (kept_count_ > 0) {
    reading.value = median_;
  }
  const auto judged = [&](Quality quality, Reason reason, Duration lasting = {}) {
    reading.quality = quality;
    reading.reason = reason;
    reading.lasting = lasting;
    return reading;
  };
  if (reading.age < Duration::zero() || reading.age > conditioning_.age_max) {
    return judged(Quality::bad, fault_since_newest_ ? Reason::no_communication : Reason::stale);
  }
  if (!std::isfinite(newest_)) {
    return judged(Quality::bad, Reason::not_a_number);
  }
  if (!plausible(newest_)) {
    return judged(Quality::bad, Reason::implausible);
  }
  if (now - unchanged_since_ >= conditioning_.stuck_after) {
    return judged(Quality::bad, Reason::stuck, now - unchanged_since_);
  }
  if (unsteady_until_ && now < *unsteady_until_) {
    return judged(Quality::uncertain, Reason::unsteady, *unsteady_until_ - now);
  }
  return judged(Quality::good, Reason::none);
}

}  // namespace limegate::signal
