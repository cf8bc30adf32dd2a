// What evaporates, is topped off, skimmed, changed and fed.

#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdint>
#include <numbers>

#include "simulator/aquarium.h"
#include "simulator/day_wave.h"

namespace limegate::simulator {
namespace {

/// Evaporation by day, about its mean (our own scenario).
constexpr double kDaySwing = 0.2;
/// A sump this low lets its pump draw air, and the display falls instead (our own scenario).
constexpr double kSumpLowest = 0.1;
/// A water change begins in the morning and takes so many seconds (our own scenario).
constexpr double kWaterChangeFrom = 10.0;
constexpr double kWaterChangeTakes = 1200.0;
/// What is eaten is breathed out within some hours (our own estimate).
constexpr double kMealHours = 2.0;
/// A float switch fills up when this much is missing.
constexpr double kTopOffFrom = 0.2;

double year_wave(WallTime wall) {
  const double days = in_seconds(wall.time_since_epoch()) / 86400.0;
  return std::cos(2.0 * std::numbers::pi * (days - 15.0) / 365.25);  // heated rooms are dry
}

/// Takes a share of all that is dissolved, and notes that it went.
void take(Budget& from, Budget& came, double share) {
  const auto gone = [&](double& amount, double& noted) {
    noted -= amount * share;
    amount -= amount * share;
  };
  gone(from.alkalinity, came.alkalinity);
  gone(from.carbon, came.carbon);
  gone(from.calcium, came.calcium);
  gone(from.salt, came.salt);
}

}  // namespace

void Aquarium::evaporate_and_top_off(WallTime wall, double seconds) {
  const double wave = (1.0 + kDaySwing * day_wave(wall, 15.0)) *
                      (1.0 + settings_.habits.season_swing * year_wave(wall));
  const double gone = settings_.evaporation_per_day.count() / 1000.0 / 86400.0 * seconds * wave;
  const bool low = sump_.kg < nominal_kg_ * settings_.sump_share * kSumpLowest;
  (low ? display_ : sump_).kg -= gone;
  came_.water -= gone;
  if (!low && settings_.habits.skimmate_per_day > Millilitres{}) {
    const double share =
        settings_.habits.skimmate_per_day.count() / 1000.0 / 86400.0 * seconds / sump_.kg;
    take(sump_.amounts, came_, share);
    came_.water -= sump_.kg * share;
    sump_.kg -= sump_.kg * share;
  }
  const double missing = nominal_kg_ - display_.kg - sump_.kg;
  if (top_off_ || missing > kTopOffFrom) {
    const double given = top_off_ ? top_off_->count() / 1000.0 / 60.0 * seconds : missing;
    sump_.kg += given;
    came_.water += given;
  }
  display_.amounts.water = display_.kg;
  sump_.amounts.water = sump_.kg;
}

void Aquarium::change_water(WallTime wall, double seconds) {
  const AquariumSettings::Habits& habits = settings_.habits;
  if (habits.water_change <= Percent{}) {
    return;
  }
  const auto day = std::chrono::floor<std::chrono::days>(wall).time_since_epoch().count();
  const double since = (hour_of_day(wall) - kWaterChangeFrom) * 3600.0;
  if (day % habits.water_change_days != 0 || since < 0.0 || since >= kWaterChangeTakes) {
    return;
  }
  const double share = habits.water_change.count() / 100.0 * seconds / kWaterChangeTakes;
  for (Box* box : {&display_, &sump_}) {
    take(box->amounts, came_, share);
    const double kg = box->kg * share;
    const auto give = [&](double& amount, double& came, double fresh) {
      amount += fresh * kg;
      came += fresh * kg;
    };
    give(box->amounts.alkalinity, came_.alkalinity, fresh_.alkalinity);
    give(box->amounts.carbon, came_.carbon, fresh_.carbon);
    give(box->amounts.calcium, came_.calcium, fresh_.calcium);
    give(box->amounts.salt, came_.salt, fresh_.salt);
  }
}

double Aquarium::of_meals(WallTime wall, double hours) {
  const AquariumSettings::Habits& habits = settings_.habits;
  if (habits.feeding <= MicromolPerKg{}) {
    return 0.0;
  }
  // Evenly over the hours of light.
  const double light = settings_.lights_off_h - settings_.lights_on_h;
  const double into = (hour_of_day(wall) - settings_.lights_on_h) / light;
  const auto today =
      static_cast<std::int64_t>(std::clamp(std::floor(into * habits.feedings_per_day + 0.5), 0.0,
                                           static_cast<double>(habits.feedings_per_day)));
  const auto day = std::chrono::floor<std::chrono::days>(wall).time_since_epoch().count();
  const std::int64_t until_now = day * habits.feedings_per_day + today;
  const std::int64_t due = until_now - fed_.value_or(until_now);
  fed_ = until_now;
  meals_ += due > 0 ? habits.feeding.count() * display_.kg : 0.0;
  const double given = meals_ * (1.0 - std::exp(-hours / kMealHours));
  meals_ -= given;
  return given;
}

}  // namespace limegate::simulator
