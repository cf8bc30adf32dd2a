#include "rehearsal/people_judge.h"

#include <algorithm>
#include <chrono>
#include <functional>

#include <fmt/format.h>

#include "units/visitor.h"

namespace limegate::rehearsal {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

// The slacks stand in words in the table of promises.
constexpr Duration kWrittenWithin = 15s;
constexpr Duration kClosesWithin = 3s;
constexpr Duration kAttendedSlack = 10s;
constexpr Duration kOwnerSlack = 5s;
/// A sliding day, and the second of the command.
constexpr Duration kDay = 24h + 1min;
/// The pulses of an attended run follow each other as soon as the probe is calm.
constexpr Duration kAttendedPause = 90s;
constexpr Millilitres kRounding{0.01};
/// Holds may keep such a run waiting, but nobody stands beside it for ever.
constexpr Duration kGivenUpAfter = 30min;
/// No pulse is worth so little: the run is over.
constexpr Millilitres kLeftOver{1.0};

/// Whether a comparison is surely met by this value, its input known.
bool met(const rules::Test& test, double value) {
  return std::visit(
      Visitor{
          [&](const rules::Is& is) { return (value >= 0.5) == (is.state == rules::Is::State::on); },
          [&](const rules::Above& above) { return value > above.limit; },
          [&](const rules::Below& below) { return value < below.limit; },
          [&](const rules::Outside& outside) {
            return value < outside.low || value > outside.high;
          },
          [](const rules::ClimbsBy&) { return false; }, [](const rules::Silent&) { return false; }},
      test);
}

}  // namespace

bool PeopleJudge::Kept::durable() const { return writable >= kWrittenWithin; }

void PeopleJudge::restarted() {
  if (!off_kept_.durable()) {
    off_since_.reset();
  }
  if (!too_high_kept_.durable()) {
    too_high_since_.reset();
  }
  if (pause_ && !pause_->kept.durable()) {
    pause_.reset();
  }
  std::erase_if(latched_, [](const auto& entry) { return !entry.second.durable(); });
  if (wishes_.size() > 1 && !wishes_.back().kept.durable()) {
    // Nobody knows which of them it goes on with.
    wishes_ = {wishes_.front()};
  }
  attended_.reset();
  for (InputShown& input : inputs_) {
    input = {};
  }
}

void PeopleJudge::rebooted(Duration now, Duration unknown) {
  for (std::size_t i = 1; i < wishes_.size(); ++i) {
    wishes_[i].since = std::min(now, wishes_[i].since + (now - ran_at_) + unknown);
  }
}

void PeopleJudge::all_off_promised(Duration now, bool kept) {
  off_since_ = now;
  off_kept_ = {kept ? kWrittenWithin : Duration::zero()};
}

void PeopleJudge::released(std::string_view code) {
  if (code == "switched-off") {
    off_since_.reset();
  }
  if (const auto found = latched_.find(code); found != latched_.end()) {
    latched_.erase(found);
  }
  released_now_.emplace_back(code);
}

void PeopleJudge::alkalinity_tested(Duration now, Tested how, bool kept) {
  too_high_since_ = how == Tested::too_high ? std::optional{now} : std::nullopt;
  too_high_kept_ = {kept ? kWrittenWithin : Duration::zero()};
}

void PeopleJudge::state_put_back() {
  pause_.reset();
  worked_until_.reset();
  wishes_ = {wishes_.front()};
}

void PeopleJudge::paused_until(std::optional<Duration> until, For what) {
  pause_ = until ? std::optional{Pause{*until, what, {}}} : std::nullopt;
}

void PeopleJudge::day_volume_set(Duration now, Millilitres volume) {
  wishes_.push_back({now, volume, {}});
}

bool PeopleJudge::in_force_lately(std::size_t wish, Duration now) const {
  return wish + 1 == wishes_.size() || now - wishes_[wish + 1].since < kDay;
}

Millilitres PeopleJudge::most_wished(Duration now) const {
  Millilitres most;
  for (std::size_t i = 0; i < wishes_.size(); ++i) {
    most = in_force_lately(i, now) ? std::max(most, wishes_[i].volume) : most;
  }
  return most;
}

Millilitres PeopleJudge::least_wished(Duration now) const {
  Millilitres least = wishes_.back().volume;
  for (std::size_t i = 0; i < wishes_.size(); ++i) {
    least = in_force_lately(i, now) ? std::min(least, wishes_[i].volume) : least;
  }
  return least;
}

void PeopleJudge::input_shown(std::size_t input, Duration now, std::optional<double> value) {
  InputShown& shown = inputs_.at(input);
  if (shown.value != value) {
    shown = {value, now};
  }
}

void PeopleJudge::second(const Second& second) {
  ran_at_ = second.now;
  const auto age = [&](Kept& kept) {
    kept.writable = second.writes ? kept.writable + 1s : Duration::zero();
  };
  for (auto& [code, kept] : latched_) {
    if (!kept.durable()) {
      age(kept);
    }
  }
  if (second.waits_for_person != nullptr) {
    for (const std::string& code : *second.waits_for_person) {
      if (std::find(released_now_.begin(), released_now_.end(), code) == released_now_.end()) {
        latched_.try_emplace(code);
      }
    }
  }
  released_now_.clear();
  if (pause_ && !pause_->kept.durable()) {
    age(pause_->kept);
  }
  if (too_high_since_ && !too_high_kept_.durable()) {
    age(too_high_kept_);
  }
  if (off_since_ && !off_kept_.durable()) {
    age(off_kept_);
  }
  if (!wishes_.back().kept.durable()) {
    age(wishes_.back().kept);
  }
  if (pause_ && second.now >= pause_->until) {
    if (pause_->what == For::work_at_the_reactor) {
      worked_until_ = pause_->until;
    }
    pause_.reset();
  }
}

void PeopleJudge::judge_stir(Verdicts& verdicts) const {
  if (off_since_) {
    verdicts.broken(Promise::stays_off, "the stirrer");
  }
}

void PeopleJudge::judge_flow(Verdicts& verdicts) const {
  if (off_since_ && verdicts.now() - *off_since_ > kClosesWithin) {
    verdicts.broken(Promise::stays_off, "the pump went on");
  }
}

bool PeopleJudge::surely_met(const rules::OwnerRule& rule, Duration now) const {
  if (rule.hours || rule.comparisons.empty()) {
    return false;
  }
  const auto holds = [&](const rules::Comparison& comparison) {
    if (comparison.input < rules::OwnerRulebook::kFirstOwn) {
      return false;
    }
    const InputShown& shown = inputs_.at(comparison.input);
    const Duration age_max = settings_.owner.inputs.at(comparison.input).age_max;
    return shown.value ? met(comparison.test, *shown.value) &&
                             now - shown.since > rule.lasting + kOwnerSlack
                       : now - shown.since > age_max + rule.lasting + kOwnerSlack;
  };
  const auto& all = rule.comparisons;
  return rule.join == rules::OwnerRule::Join::all ? std::all_of(all.begin(), all.end(), holds)
                                                  : std::any_of(all.begin(), all.end(), holds);
}

void PeopleJudge::judge_owner(Verdicts& verdicts) const {
  for (const rules::OwnerRule& rule : settings_.owner.rules) {
    if (rule.effect == rules::OwnerRule::Effect::hold && surely_met(rule, verdicts.now())) {
      verdicts.broken(Promise::owner_obeyed, rule.name);
    }
  }
}

void PeopleJudge::judge_calls(const NewsJudge& news, Verdicts& verdicts) const {
  const auto is_shown = [&](const rules::Comparison& comparison) {
    return inputs_.at(comparison.input).value.has_value();
  };
  for (const rules::OwnerRule& rule : settings_.owner.rules) {
    // What nothing is known of has its own alert, and one that waits for a person ends otherwise.
    if (rule.effect == rules::OwnerRule::Effect::alert &&
        rule.release == rules::Clears::by_itself &&
        std::all_of(rule.comparisons.begin(), rule.comparisons.end(), is_shown) &&
        surely_met(rule, verdicts.now()) && !news.stands("rule-" + rule.name)) {
      verdicts.broken(Promise::owner_told, rule.name);
    }
  }
}

bool PeopleJudge::judge_pulse(Millilitres volume, Duration duration, Verdicts& verdicts) {
  const Duration now = verdicts.now();
  if (off_since_) {
    verdicts.broken(Promise::stays_off, "the pump");
  }
  if (too_high_since_ && now - *too_high_since_ > kClosesWithin) {
    verdicts.broken(Promise::alkalinity_bearable);
  }
  if (pause_ && now < pause_->until) {
    verdicts.broken(Promise::stays_paused);
  }
  if (worked_until_ && now - *worked_until_ < settings_.settle - kClosesWithin) {
    verdicts.broken(Promise::work_settles);
  }
  for (const auto& [code, kept] : latched_) {
    verdicts.broken(Promise::latch_kept, code);
  }
  judge_owner(verdicts);
  if (!attended_ || now - attended_->last > kAttendedPause) {
    attended_.reset();
    return false;
  }
  if (volume > attended_->left + kRounding) {
    verdicts.broken(
        Promise::attended_bounded,
        fmt::format("{:.1f} mL, {:.1f} were left", volume.count(), attended_->left.count()));
  }
  if (now - attended_->asked_at > kGivenUpAfter + kAttendedSlack) {
    verdicts.broken(Promise::attended_bounded, "too long");
  }
  attended_->left -= volume;
  attended_->last = now + duration;
  if (!(attended_->left > std::max(kLeftOver, settings_.least_pulse))) {
    attended_.reset();
  }
  return true;
}

}  // namespace limegate::rehearsal
