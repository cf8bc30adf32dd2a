#include "station/effect_check.h"

#include <algorithm>
#include <chrono>
#include <cmath>

#include <fmt/format.h>

namespace limegate::station {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

/// Begin and end of the quiet part: a quarter of it each.
constexpr int kQuietParts = 4;
/// A day that tells less than this, by its standard error, teaches nothing.
constexpr double kErrorMost = 0.25;
/// And with more than this it is hardly seen at all: too little was dosed.
constexpr double kErrorOfNothing = 0.5;
/// Beyond these shares of the usual effect something is wrong: that is no teacher either.
constexpr double kTeachesFrom = 0.5;
constexpr double kTeachesTo = 1.6;
/// Below three tenths of what it was, and surely below six, by two standard errors. It is over at
/// half. Source: our own reasoning.
constexpr double kWithout = 0.3;
constexpr double kSurelyLess = 0.6;
constexpr double kOver = 0.5;
constexpr double kErrors = 2.0;

}  // namespace

EffectCheck::EffectCheck(const LearnedEffect& stored, const dosing::StirCycle& stir,
                         Duration settle)
    : effect_(stored), settle_(settle), response_(stir.every) {
  if (!(effect_.share > 0.0 && effect_.share < 100.0) || effect_.days < 0) {
    effect_ = {};
  }
}

void EffectCheck::take(Moment now, Ph value, PhChange expected, const rules::StirrerKnown& stirrer,
                       Effects& effects) {
  using Part = signal::DoseResponse::Part;
  const Duration rested = now.mono - stirrer.rested_since;
  if (stirrer.state != rules::StirrerKnown::State::resting || rested > settle_ ||
      (rested > settle_ / kQuietParts && rested < settle_ - settle_ / kQuietParts)) {
    return;
  }
  const Part part = rested <= settle_ / kQuietParts ? Part::after_doses : Part::before_doses;
  if (!response_.take(stirrer.rested_since, part, now.mono, value.count(), expected.count())) {
    return;
  }
  today_ = response_.today();
  if (today_) {
    tell(now, *today_, effects);
    learn(now, *today_, effects);
  }
}

void EffectCheck::learn(Moment now, const Share& today, Effects& effects) {
  const double against = today.share / usual();
  if ((learned_at_ && now.mono - *learned_at_ < 24h) || !(today.error <= kErrorMost) ||
      !(against >= (learned() ? kTeachesFrom : kWithout)) || (learned() && against > kTeachesTo)) {
    return;
  }
  learned_at_ = now.mono;
  effect_.days = std::min(effect_.days + 1, kMemoryDays);
  effect_.share += (today.share - effect_.share) / effect_.days;
  effects.emplace_back(StoreEffect{effect_});
}

void EffectCheck::tell(Moment now, const Share& today, Effects& effects) {
  const double share = today.share / usual();
  const double error = today.error / usual();
  if (!told_ && share < kWithout && share + kErrors * error < kSurelyLess) {
    told_ = true;
    effects.emplace_back(Raise{
        {now.wall, Severity::alert, "dose-without-effect",
         fmt::format("The doses of the last 24 h raised the pH by {:.0f} % of what {}. Is the "
                     "powder spent, the pump dry, a tube off?",
                     100.0 * std::max(share, 0.0),
                     learned() ? "they usually do" : "chemistry expects"),
         "dose-without-effect"}});
  } else if (told_ && share > kOver) {
    told_ = false;
    effects.emplace_back(Raise{{now.wall,
                                Severity::info,
                                "dose-has-effect",
                                "The doses raise the pH again.",
                                {},
                                "dose-without-effect"}});
  }
}

std::optional<rules::DoseEffect> EffectCheck::against_usual() const {
  if (!learned() || !today_ || !(today_->error <= kErrorOfNothing)) {
    return std::nullopt;
  }
  return rules::DoseEffect{today_->share / usual(),
                           (today_->share - kErrors * today_->error) / usual()};
}

void EffectCheck::begin_anew() {
  response_.forget();
  today_.reset();
}

}  // namespace limegate::station
