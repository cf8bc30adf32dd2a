#include "rehearsal/volume_judge.h"

#include <chrono>

#include <fmt/format.h>

#include "chemistry/dose.h"
#include "chemistry/keeper_units.h"

namespace limegate::rehearsal {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

// The slacks stand in words in the table of promises.
constexpr Millilitres kRounding{0.01};
constexpr double kChemistrySlack = 1.1;
constexpr PhChange kPhSlack{0.05};
/// The coolest room that a reactor is likely to stand in: there limewater is strongest.
constexpr Celsius kCoolRoom{15.0};

std::optional<double> rise_per_ml(const VolumeJudge::Limits::Water& water, double ph,
                                  double temperature) {
  const auto constants = chemistry::seawater_constants(water.salinity, Celsius{temperature});
  const auto limewater = chemistry::saturated_limewater(kCoolRoom);
  if (!constants || !limewater) {
    return std::nullopt;
  }
  const auto state = chemistry::solve_from_ph(
      *constants,
      chemistry::to_micromol_per_kg(chemistry::to_meq_per_litre(water.alkalinity),
                                    constants->density),
      chemistry::to_total(*constants, Ph{ph}));
  const auto tank =
      state ? chemistry::tank_of(water.volume, *constants, *state) : tl::unexpected(state.error());
  const auto rise =
      tank ? chemistry::rise_per_millilitre(*tank, *limewater) : tl::unexpected(tank.error());
  return rise ? std::optional{rise->count()} : std::nullopt;
}

}  // namespace

Millilitres VolumeJudge::within(Duration window, Duration now) const {
  Millilitres sum;
  for (const Command& command : commands_) {
    sum += now - command.at < window ? command.volume : Millilitres{};
  }
  return sum;
}

void VolumeJudge::ended_at(Millilitres flowed) {
  if (!commands_.empty()) {
    commands_.back().volume = flowed;
  }
}

void VolumeJudge::judge_chemistry(const Pulse& pulse, Verdicts& verdicts) const {
  if (!limits_.water || !pulse.ph || !pulse.temperature) {
    return;
  }
  const auto each = rise_per_ml(*limits_.water, *pulse.ph + kPhSlack.count(), *pulse.temperature);
  if (!each) {
    return;
  }
  const double pulse_rise = *each * (pulse.volume - limits_.least_pulse).count();
  if (pulse_rise > limits_.pulse_rise.count() * kChemistrySlack) {
    verdicts.broken(Promise::pulse_by_chemistry, fmt::format("{:.3f}", pulse_rise));
  }
  const double hour_rise = *each * within(1h, verdicts.now()).count();
  if (hour_rise > limits_.hour_rise.count() * kChemistrySlack) {
    verdicts.broken(Promise::hour_by_chemistry, fmt::format("{:.3f}", hour_rise));
  }
}

void VolumeJudge::judge_day(const Pulse& pulse, Verdicts& verdicts) const {
  const Millilitres given = within(24h, verdicts.now());
  if (given > pulse.most_wished + limits_.pulse_max + kRounding) {
    verdicts.broken(Promise::day_plan);
  }
  // Who wishes less than half of the file's volume gets all of that.
  const Millilitres half = std::max(pulse.most_wished, limits_.day_in_file) * 0.5;
  if ((!rate_known_at_ || verdicts.now() - *rate_known_at_ > 24h) &&
      given > std::min(pulse.most_wished, half) + limits_.pulse_max + kRounding) {
    verdicts.broken(Promise::half_unconfirmed);
  }
}

void VolumeJudge::pulse(const Pulse& pulse, Verdicts& verdicts) {
  const Duration now = verdicts.now();
  if (limits_.rate_measured || pulse.effect_known) {
    rate_known_at_ = now;
  }
  commands_.push_back({now, pulse.volume});
  while (now - commands_.front().at >= 24h) {
    commands_.pop_front();
  }
  if (within(1h, now) > limits_.hour + kRounding) {
    verdicts.broken(Promise::hour);
  }
  if (within(24h, now) > limits_.day + kRounding) {
    verdicts.broken(Promise::day);
  }
  judge_chemistry(pulse, verdicts);
  if (!pulse.attended) {
    judge_day(pulse, verdicts);
    if (now - window_began_ >= limits_.window_every) {
      window_begins(now);
    }
    in_window_ += pulse.volume;
    if (limits_.window_share > Millilitres{} &&
        in_window_ > limits_.window_share + limits_.least_pulse + kRounding) {
      verdicts.broken(Promise::window_share,
                      fmt::format("{:.1f} mL, its share is {:.1f}", in_window_.count(),
                                  limits_.window_share.count()));
    }
  }
}

}  // namespace limegate::rehearsal
