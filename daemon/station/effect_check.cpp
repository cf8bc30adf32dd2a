#include "station/effect_check.h"

#include <algorithm>
#include <chrono>
#include <cmath>

#include <fmt/format.h>

#include "rules/limits.h"

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
/// Below three tenths of what it was, and surely below six. It is over at half. Source: our own
/// reasoning.
constexpr double kWithout = 0.3;
constexpr double kSurelyLess = 0.6;
constexpr double kOver = 0.5;

using rules::SoundEffect;

std::vector<signal::DoseResponse::Cycle> on_this_boot(const EffectCheck::Stored& stored) {
  std::vector<signal::DoseResponse::Cycle> cycles;
  for (const DoseCycle& cycle : stored.cycles) {
    if (std::isfinite(cycle.seen + cycle.expected + cycle.value_then + cycle.expected_then)) {
      cycles.push_back({Instant{cycle.at - stored.lifetime_before_boot}, cycle.seen, cycle.expected,
                        cycle.value_then, cycle.expected_then});
    }
  }
  return cycles;
}

}  // namespace

EffectCheck::EffectCheck(const Stored& stored, const dosing::StirCycle& stir, Duration settle)
    : effect_(stored.effect),
      lifetime_before_boot_(stored.lifetime_before_boot),
      settle_(settle),
      response_(stir.every, on_this_boot(stored)) {
  for (const DoseCycle& cycle : stored.cycles) {
    if (cycle.taught) {
      learned_at_ = Instant{cycle.at - lifetime_before_boot_};
    }
  }
  if (!(effect_.share > 0.0 && effect_.share < 100.0) || effect_.days < 0) {
    effect_ = {};
  }
}

std::optional<signal::DoseResponse::Share> EffectCheck::take(Moment now, Ph value,
                                                             PhChange expected,
                                                             const rules::StirrerKnown& stirrer,
                                                             Effects& effects) {
  using Part = signal::DoseResponse::Part;
  const Duration rested = now.mono - stirrer.rested_since;
  if (stirrer.state != rules::StirrerKnown::State::resting ||
      (rested > settle_ / kQuietParts && rested < settle_ - settle_ / kQuietParts)) {
    return std::nullopt;
  }
  const Part part = rested <= settle_ / kQuietParts ? Part::after_doses : Part::before_doses;
  const bool completed = rested > settle_ ? response_.quiet_over()
                                          : response_.take(stirrer.rested_since, part, now.mono,
                                                           value.count(), expected.count());
  if (!completed) {
    return std::nullopt;
  }
  today_ = response_.today();
  bool taught = false;
  if (today_) {
    tell(now, *today_, effects);
    taught = learn(now, *today_, effects);
  }
  const auto& cycle = response_.newest();
  effects.emplace_back(StoreCycle{{cycle.at.time_since_epoch() + lifetime_before_boot_, cycle.seen,
                                   cycle.expected, cycle.value_then, cycle.expected_then, taught}});
  return by_chemistry();
}

bool EffectCheck::learn(Moment now, const Share& today, Effects& effects) {
  if ((learned_at_ && now.mono - *learned_at_ < 24h) || !(today.error <= kErrorMost) ||
      !teaches(today)) {
    return false;
  }
  learned_at_ = now.mono;
  effect_.days = std::min(effect_.days + 1, kMemoryDays);
  effect_.share += (today.share - effect_.share) / effect_.days;
  effects.emplace_back(StoreEffect{effect_});
  return true;
}

/// What no sound station's doses do is no teacher. Nor is far from the usual, but where it is what
/// they should do: a pump was mended that had worn out.
bool EffectCheck::teaches(const Share& today) const {
  const double against = today.share / usual();
  const bool near = learned() ? against >= kTeachesFrom && against <= kTeachesTo
                              : today.share >= SoundEffect::kFarTooLittle;
  const bool sound = today.share >= SoundEffect::kLeast && today.share <= SoundEffect::kMost;
  return today.share <= SoundEffect::kFarTooMuch && (near || sound);
}

void EffectCheck::tell(Moment now, const Share& today, Effects& effects) {
  const double share = today.share / usual();
  const bool less_than_usual = share < kWithout && today.at_most() / usual() < kSurelyLess;
  const bool less_than_sound = today.at_most() < SoundEffect::kFarTooLittle;
  if (!told_ && (less_than_usual || less_than_sound)) {
    told_ = true;
    effects.emplace_back(Raise{
        {now.wall, Severity::alert, "dose-without-effect",
         fmt::format("The doses of the last 24 h raised the pH by {:.0f} % of what {}. Is the "
                     "powder spent, the pump dry, a tube off?",
                     100.0 * std::max(less_than_usual ? share : today.share, 0.0),
                     less_than_usual && learned() ? "they usually do" : "chemistry expects"),
         "dose-without-effect"}});
  } else if (told_ && share > kOver && today.share >= SoundEffect::kFarTooLittle) {
    told_ = false;
    effects.emplace_back(Raise{{now.wall,
                                Severity::info,
                                "dose-has-effect",
                                "The doses raise the pH again.",
                                {},
                                "dose-without-effect"}});
  }
}

std::optional<signal::DoseResponse::Share> EffectCheck::by_chemistry() const {
  return today_ && today_->error <= kErrorOfNothing ? today_ : std::nullopt;
}

std::optional<rules::DoseEffect> EffectCheck::against_usual() const {
  const auto today = by_chemistry();
  if (!learned() || !today) {
    return std::nullopt;
  }
  return rules::DoseEffect{today->share / usual(), today->at_least() / usual(), today->share};
}

void EffectCheck::begin_anew(Effects& effects) {
  effects.emplace_back(ForgetCycles{});
  response_.forget();
  today_.reset();
}

}  // namespace limegate::station
