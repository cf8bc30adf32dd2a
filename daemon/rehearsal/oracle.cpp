#include "rehearsal/oracle.h"

#include <chrono>

namespace limegate::rehearsal {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

constexpr std::size_t kViolationsMax = 20;
/// A reading may be ten seconds old and the row takes its time (LIMITS.md: 60 s is the hard bound).
constexpr Duration kEvidenceAgeMax = 60s;
constexpr Millilitres kRounding{0.01};

}  // namespace

void Oracle::broken(const std::string& promise) {
  if (violations_.size() < kViolationsMax) {
    violations_.push_back(promise + " at second " + std::to_string(now_ / 1s));
  }
}

void Oracle::second(Duration world, Stirs stirs, Pump pump) {
  now_ = world;
  if (pump == Pump::on && world < commanded_until_) {
    flowed_ += Millilitres{promises_.rate.count() / 60.0};
  }
  if (stirs == Stirs::yes) {
    stirred_at_ = world;
  }
}

Millilitres Oracle::within(Duration window) const {
  Millilitres sum;
  for (const Command& command : commands_) {
    sum += now_ - command.at < window ? command.volume : Millilitres{};
  }
  return sum;
}

void Oracle::pump_commanded(std::int64_t id, Duration duration, Duration evidence_age) {
  const double minutes = std::chrono::duration<double, std::ratio<60>>(duration).count();
  const Millilitres volume{promises_.rate.count() * minutes};
  commands_.push_back({now_, volume});
  commanded_until_ = now_ + duration;
  while (now_ - commands_.front().at >= 24h) {
    commands_.pop_front();
  }
  if (!ids_.insert(id).second) {
    broken("a pulse was sent twice");
  }
  // The program may stir or stop stirring within the second of the command.
  if (stirred_at_ != Duration::min() && now_ - stirred_at_ < promises_.settle - 2s) {
    broken("the pump was commanded while the limewater was stirred or had not settled");
  }
  if (evidence_age < Duration::zero() || evidence_age > kEvidenceAgeMax) {
    broken("a pulse without fresh evidence");
  }
  if (within(1h) > promises_.hour + kRounding) {
    broken("more than the hour's allowance was commanded");
  }
  if (within(24h) > promises_.day + kRounding) {
    broken("more than the day's allowance was commanded");
  }
}

void Oracle::counted(Millilitres sum) {
  if (sum < flowed_ - kRounding) {
    broken("the ledger counts less than flowed by command");
    flowed_ = sum;  // told once
  }
}

}  // namespace limegate::rehearsal
