#include "station/window_plan.h"

#include <algorithm>
#include <chrono>

namespace limegate::station {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

constexpr Duration kLevelledFor = 7 * 24h;

}  // namespace

double WindowPlan::weight_of(Moment opens, const Present& present, double most) {
  const dosing::PlanSettings& plan = present.plan;
  if (!opens.wall_trusted) {
    return 1.0;  // nobody knows whether it is night
  }
  // A window stands for the time until the next one opens, so that a day's windows are the day.
  if (plan.spread == dosing::Spread::night) {
    return dosing::weight_over(dosing::weights_at_night(plan.night, plan.night_share),
                               time_of_day(opens.wall), plan.stir.every);
  }
  if (plan.spread != dosing::Spread::levelling || !present.ph) {
    levelled_.reset();
    return 1.0;
  }
  if (!levelled_ || opens.mono - levelled_->since >= kLevelledFor ||
      levelled_->day_volume != plan.day_volume || most < levelled_->most) {
    levelled_ = {opens.mono, plan.day_volume, most, dosing::levelling_weights(*present.ph, most)};
  }
  return std::min(
      most, dosing::weight_over(levelled_->weights, opens.wall.time_since_epoch() % Duration{24h},
                                plan.stir.every));
}

dosing::PlanShape WindowPlan::open(Moment opens, const Present& present) {
  const dosing::PlanSettings& plan = present.plan;
  if (opened_) {
    missed_.add(*opened_, own_ - given_);
    missed_.made_up(given_ - own_);
  }
  const double most = dosing::most_weight(plan, present.bounds);
  const double own = weight_of(opens, present, most);
  const Millilitres even = dosing::even_share(plan);
  const auto shape_with = [&](double weight) {
    return dosing::shape_within(plan, even * weight + owed_);
  };
  const dosing::PlanShape without = shape_with(own);
  dosing::PlanShape shape = without;
  opened_ = opens.mono;
  own_ = without.pulses_per_window > 0 ? without.window_volume : Millilitres{0.0};
  given_ = Millilitres{0.0};
  const Millilitres pending = missed_.pending(opens.mono);
  if (plan.missed == dosing::PlanSettings::Missed::made_up && pending > Millilitres{0.0} &&
      even > Millilitres{0.0} && most > own) {
    shape = shape_with(std::min(most, own + pending / even));
  }
  if (plan.timer_step > Duration::zero()) {
    owed_ = std::clamp(even * own + owed_ - own_, Millilitres{0.0}, dosing::least_pulse(plan));
  }
  return shape;
}

void WindowPlan::drop_missed() {
  missed_.forget();
  opened_.reset();
  owed_ = Millilitres{0.0};
}

}  // namespace limegate::station
