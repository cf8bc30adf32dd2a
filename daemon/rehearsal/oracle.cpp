#include "rehearsal/oracle.h"

#include <algorithm>
#include <chrono>

#include <fmt/format.h>

namespace limegate::rehearsal {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

constexpr std::size_t kViolationsMax = 20;
/// A reading may be ten seconds old and the row takes its time (LIMITS.md: 60 s is the hard bound).
constexpr Duration kEvidenceAgeMax = 60s;
/// A limit is on filtered values; no filter takes longer than this to follow.
constexpr Duration kFilterMax = 60s;
/// One plausible value above a limit ends a pulse: in the next second, and the command its time.
constexpr Duration kClosesWithin = 3s;
/// Common practice is a check twice a day: by six hours of silence a person must know.
constexpr Duration kSilenceMax = 6h;
constexpr Duration kAlertTakes = 10min;
/// The ledger gets a row with each stir, if not oftener.
constexpr Duration kRowsAtLeastEvery = 2h;
/// What may take its time after everything healed: a day that counts as full, and a settling.
constexpr Duration kDosesAgainWithin = 26h;
constexpr Millilitres kRounding{0.01};

}  // namespace

void Oracle::broken(const std::string& promise) {
  if (violations_.size() < kViolationsMax) {
    violations_.push_back(promise + " at second " + std::to_string(now_ / 1s));
  }
}

void Oracle::Evidence::take(Duration now, Duration up_since, const std::optional<double>& shown,
                            double low, double high) {
  if (!shown) {
    return;
  }
  // What was shown before a start nobody can compare with.
  const bool first = !newest || *newest < up_since;
  newest = now;
  if (first || *shown != value) {
    changed = now;
    value = *shown;
  }
  if (*shown >= low && *shown <= high) {
    implausible_since.reset();
  } else if (!implausible_since) {
    implausible_since = now;
  }
}

void Oracle::second(const World& world) {
  const rules::Limits& limits = promises_.limits;
  if (world.stirs) {
    stirred_at_ = now_;
  }
  if (world.program_runs) {
    up_since_command_ += 1s;
    ph_.take(now_, up_since_, world.ph, limits.ph_plausible_low, limits.ph_plausible_high);
    temperature_.take(now_, up_since_, world.temperature, limits.temperature_plausible_low,
                      limits.temperature_plausible_high);
  }
  const auto note = [&](std::optional<Duration>& since, Ph limit) {
    if (!world.ph) {
      return;
    }
    if (*world.ph < limit.count()) {
      since.reset();
    } else if (!since) {
      since = now_;
    }
  };
  note(above_since_, limits.ceiling);
  note(second_above_since_, limits.second_ceiling);
  if (second_above_since_ && now_ - *second_above_since_ > kFilterMax && world.program_runs &&
      world.ph && *world.ph <= limits.ph_plausible_high) {
    second_ceiling_since_ = now_;
  }
  const Duration left = std::clamp(commanded_until_ - now_, Duration::zero(), Duration{1s});
  flows_ = Millilitres{world.pump_relay_on ? promises_.rate.count() / 60.0 *
                                                 std::chrono::duration<double>(left).count()
                                           : 0.0};
  if (flows_ > Millilitres{}) {
    flowed_[newest_id_] += flows_;
    if (world.program_runs && world.board_obeys && above_since_ &&
        now_ - *above_since_ > kClosesWithin && now_ - up_since_ > kClosesWithin) {
      broken(fmt::format("the pump went on while pH {:.2f} was shown, above the ceiling",
                         world.ph.value_or(0)));
    }
    if (world.program_runs && world.board_obeys && off_since_ &&
        now_ - *off_since_ > kClosesWithin) {
      broken("the pump went on after a person had switched everything off");
    }
  }
  if (!world.pump_relay_on && now_ < commanded_until_) {
    // An off ended it early: no more than this can have been commanded.
    commands_.back().volume = flowed_[newest_id_];
    commanded_until_ = now_;
  }
  judge_silence();
}

void Oracle::stirrer_commanded() {
  if (off_since_) {
    broken("the stirrer was commanded after a person had switched everything off");
  }
}

void Oracle::all_off_promised(bool kept) {
  off_since_ = now_;
  off_kept_ = kept;
}

void Oracle::released(std::string_view code) {
  if (code == "switched-off") {
    off_since_.reset();
  } else if (code == "ph-second-ceiling") {
    second_ceiling_since_.reset();
  }
}

void Oracle::latches_gone() {
  off_since_.reset();
  second_ceiling_since_.reset();
}

void Oracle::restarted() {
  up_since_ = now_;
  if (!off_kept_) {
    off_since_.reset();
  }
}

void Oracle::rebooted() {
  up_since_command_ = std::max(up_since_command_ - kRowsAtLeastEvery, Duration::zero());
}

void Oracle::judge_silence() {
  longest_pause_ = std::max(longest_pause_, now_ - commanded_at_);
  const bool told = alerted_at_ && *alerted_at_ > commanded_at_;
  if (promises_.day_volume > Millilitres{} && up_since_command_ > kSilenceMax + kAlertTakes &&
      now_ - up_since_ > kAlertTakes && !told && !silence_told_) {
    broken("nothing was dosed for six hours and nobody was told");
    silence_told_ = true;
  }
}

Millilitres Oracle::within(Duration window) const {
  Millilitres sum;
  for (const Command& command : commands_) {
    sum += now_ - command.at < window ? command.volume : Millilitres{};
  }
  return sum;
}

void Oracle::judge_evidence() {
  const auto judge = [&](const Evidence& probe, const char* name, Duration stuck_after) {
    if (!probe.newest || *probe.newest < up_since_ || now_ - *probe.newest > kEvidenceAgeMax) {
      broken(fmt::format("a pulse without a fresh {}", name));
      return;
    }
    if (probe.implausible_since && now_ - *probe.implausible_since > kFilterMax) {
      broken(fmt::format("a pulse with an implausible {}", name));
    }
    const Duration still = now_ - *probe.changed;
    if (stuck_after > Duration::zero() && still > stuck_after + kFilterMax) {
      broken(fmt::format("a pulse with a stuck {}", name));
    }
  };
  judge(ph_, "pH", promises_.ph_stuck_after);
  judge(temperature_, "temperature", promises_.temperature_stuck_after);
  if (above_since_ && now_ - *above_since_ > kFilterMax) {
    broken("a pulse above the ceiling");
  }
  if (now_ - up_since_ < promises_.limits.proven - 2s) {
    broken("a pulse before the probes had proved themselves");
  }
  if (second_ceiling_since_) {
    broken("a pulse after the second ceiling that nobody released");
  }
}

void Oracle::judge_allowance() {
  while (now_ - commands_.front().at >= 24h) {
    commands_.pop_front();
  }
  if (within(1h) > promises_.limits.hour + kRounding) {
    broken("more than the hour's allowance was commanded");
  }
  if (within(24h) > promises_.limits.day + kRounding) {
    broken("more than the day's allowance was commanded");
  }
}

void Oracle::pump_commanded(std::int64_t id, Duration duration,
                            std::optional<Millilitres> counted) {
  const double minutes = std::chrono::duration<double, std::ratio<60>>(duration).count();
  const Millilitres volume{promises_.rate.count() * minutes};
  commands_.push_back({now_, volume});
  commanded_until_ = now_ + duration;
  commanded_at_ = now_;
  up_since_command_ = Duration::zero();
  silence_told_ = false;
  if (id <= newest_id_) {
    broken("a pulse was sent twice");
  }
  newest_id_ = id;
  if (!counted || *counted < volume - kRounding) {
    broken("a pulse was sent that the ledger does not count in full");
  }
  if (duration > promises_.pulse_max) {
    broken("a pulse is longer than any may be");
  }
  if (promises_.timer_step > Duration::zero() && duration % promises_.timer_step != 0s) {
    broken("a pulse is no whole number of the steps of the board's timer");
  }
  if (off_since_) {
    broken("the pump was commanded after a person had switched everything off");
  }
  // The program may stir or stop stirring within the second of the command.
  if (stirred_at_ && now_ - *stirred_at_ < promises_.limits.settle - 2s) {
    broken("the pump was commanded while the limewater was stirred or had not settled");
  }
  judge_evidence();
  judge_allowance();
}

void Oracle::row_written(std::int64_t id, std::optional<Millilitres> counted) {
  const auto flowed = flowed_.find(id);
  if (flowed != flowed_.end() && (!counted || *counted < flowed->second - kRounding)) {
    broken("the ledger counts less than flowed by command");
  }
  while (!flowed_.empty() && flowed_.begin()->first < id) {
    flowed_.erase(flowed_.begin());
  }
}

void Oracle::must_dose_again(Duration healed_for) {
  if (promises_.day_volume > Millilitres{} && healed_for > kDosesAgainWithin &&
      now_ - commanded_at_ > healed_for) {
    broken("everything had healed, and dosing did not go on");
  }
}

}  // namespace limegate::rehearsal
