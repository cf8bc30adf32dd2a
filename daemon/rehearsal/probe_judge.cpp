#include "rehearsal/probe_judge.h"

#include <algorithm>
#include <chrono>

#include <fmt/format.h>

namespace limegate::rehearsal {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

// The slacks stand in words in the table of promises.
constexpr Duration kDecisionTakes = 3s;
constexpr Duration kSeenWithin = 2s;
constexpr Duration kStuckSlack = 60s;
constexpr Duration kJumpSlack = 35s;

}  // namespace

void ProbeJudge::restarted(Duration now) {
  // What was shown before a start nobody can compare with.
  *this = ProbeJudge{limits_};
  up_since_ = now;
}

void ProbeJudge::look_for_jump(Duration now, double value) {
  if (!block_ || now - block_->began >= limits_.jump_window / 2) {
    former_ = block_ && now - block_->began < limits_.jump_window ? block_ : std::nullopt;
    block_ = {now, value, value};
  }
  block_->lowest = std::min(block_->lowest, value);
  block_->highest = std::max(block_->highest, value);
  const double lowest = former_ ? std::min(former_->lowest, block_->lowest) : block_->lowest;
  const double highest = former_ ? std::max(former_->highest, block_->highest) : block_->highest;
  if (highest - lowest > limits_.jump) {
    unsteady_at_ = now;
    good_since_.reset();
    former_.reset();
    block_ = {now, value, value};
  }
}

void ProbeJudge::shown(Duration now, const std::optional<double>& value) {
  if (newest_ && now - *newest_ > limits_.age_max + kDecisionTakes) {
    good_since_.reset();
  }
  if (!value) {
    return;
  }
  newest_ = now;
  if (!plausible(*value)) {
    implausible_since_ = implausible_since_.value_or(now);
    unsteady_at_ = now;
    good_since_.reset();
    block_.reset();
    former_.reset();
    return;
  }
  implausible_since_.reset();
  if (!changed_ || *value != value_) {
    changed_ = now;
    value_ = *value;
  }
  good_since_ = good_since_.value_or(now);
  look_for_jump(now, *value);
}

void ProbeJudge::judge_pulse(Verdicts& verdicts) const {
  const Duration now = verdicts.now();
  if (!newest_ || now - *newest_ > limits_.age_max + kDecisionTakes) {
    verdicts.broken(Promise::fresh, limits_.name);
    return;
  }
  if (implausible_since_ && now - *implausible_since_ >= kSeenWithin) {
    verdicts.broken(Promise::plausible, limits_.name);
  }
  if (limits_.stuck_after > Duration::zero() && changed_ &&
      now - *changed_ > limits_.stuck_after + kStuckSlack) {
    verdicts.broken(Promise::not_stuck, limits_.name);
  }
  // Of a value that can't be true, too: what comes after it has to be steady first.
  if (unsteady_at_ && now - *unsteady_at_ < limits_.steady_for - kJumpSlack &&
      now - *unsteady_at_ >= kSeenWithin) {
    verdicts.broken(Promise::steady,
                    fmt::format("{}, {} s after", limits_.name, (now - *unsteady_at_) / 1s));
  }
}

void ProbeJudge::judge_flow(Duration since, Verdicts& verdicts) const {
  const Duration now = verdicts.now();
  if (limits_.age_flowing) {
    const Duration silent_for = now - std::max({newest_.value_or(up_since_), since, up_since_});
    if (silent_for > *limits_.age_flowing + kDecisionTakes) {
      verdicts.broken(Promise::fresh_flowing);
    }
  }
  if (implausible_since_ && now - std::max(*implausible_since_, since) > kDecisionTakes) {
    verdicts.broken(Promise::plausible_flowing, limits_.name);
  }
}

}  // namespace limegate::rehearsal
