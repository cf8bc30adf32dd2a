#include "rehearsal/memory_ledger.h"

#include <algorithm>
#include <chrono>

namespace limegate::rehearsal {

void MemoryLedger::see(dosing::Stamp stamp) {
  newest_lifetime_ = std::max(newest_lifetime_, stamp.lifetime);
}

void MemoryLedger::take(const station::AppendPulse& entry) {
  see(entry.pulse.reserved);
  const auto old = [&](const dosing::Dose& dose) {
    return dosing::age(dose.end, entry.pulse.reserved) > std::chrono::hours{48};
  };
  while (!pulses_.empty() && old(pulses_.begin()->second)) {
    pulses_.erase(pulses_.begin());
  }
  pulses_[entry.pulse.id] = {entry.pulse.id, entry.pulse.end, entry.pulse.volume};
  newest_pulse_ = entry.pulse.id;
  counted_ += entry.pulse.volume;
}

void MemoryLedger::take(const station::ClosePulse& entry) {
  dosing::Dose& dose = pulses_.at(entry.id);
  counted_ += entry.counted - dose.volume;
  dose.volume = entry.counted;
}

void MemoryLedger::take(const station::AppendStir& entry) {
  see(entry.stir.start);
  newest_stir_ = entry.stir.id;
  stir_start_ = entry.stir.start;
  last_stir_.reset();
}

void MemoryLedger::take(const station::CloseStir& entry) {
  see(entry.end);
  if (entry.id == newest_stir_ && stir_start_) {
    last_stir_ = station::History::LastStir{Instant{stir_start_->lifetime - lifetime_before_boot_},
                                            Instant{entry.end.lifetime - lifetime_before_boot_}};
  }
}

void MemoryLedger::take(const station::StoreLatch& entry) {
  latches_.erase(std::remove(latches_.begin(), latches_.end(), entry.code), latches_.end());
  if (entry.to == station::StoreLatch::To::latched) {
    latches_.push_back(entry.code);
  }
}

void MemoryLedger::take(const station::ForgetWish& entry) {
  wishes_.erase(std::remove_if(wishes_.begin(), wishes_.end(),
                               [&](const station::Wish& wish) { return wish.what == entry.what; }),
                wishes_.end());
}

void MemoryLedger::take(const station::StoreWish& entry) {
  take(station::ForgetWish{entry.wish.what});
  wishes_.push_back(entry.wish);
}

void MemoryLedger::write(const std::string& /*station*/, const shell::Entry& entry,
                         WallTime /*now*/, Reply reply) {
  if (disk_ == Disk::full) {
    reply("no space is left on the rehearsed disk");
    return;
  }
  std::visit([this](const auto& what) { take(what); }, entry);
  reply(std::nullopt);
}

station::History MemoryLedger::history(Moment now) const {
  const dosing::Stamp today{now.mono.time_since_epoch() + lifetime_before_boot_, now.wall};
  station::History history;
  history.lifetime_before_boot = lifetime_before_boot_;
  for (const auto& [id, dose] : pulses_) {
    if (dosing::age(dose.end, today) < std::chrono::hours{24}) {
      history.doses.push_back(dose);
    }
  }
  history.newest_pulse_id = newest_pulse_;
  history.newest_stir_id = newest_stir_;
  history.last_stir = last_stir_;
  history.latches = latches_;
  history.wishes = wishes_;
  return history;
}

}  // namespace limegate::rehearsal
