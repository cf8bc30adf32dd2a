#include "station/usual_course.h"

#include <chrono>
#include <cstdlib>
#include <string>

#include <fmt/format.h>

namespace limegate::station {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

/// Less than this between two values is how clocks are kept right, not a step.
constexpr Duration kClockStep = 1min;

std::string sentence_of(const signal::DayCourse::Move& move) {
  const double hours = move.quarters / 4.0;
  const std::string later =
      fmt::format("{:.2f} h {}", std::abs(hours), hours > 0 ? "later" : "earlier");
  const std::string offset = fmt::format("by {:+.2f}", move.offset);
  return "For two days the pH has run its usual course " +
         (move.quarters == 0 ? offset
          : move.offset == 0 ? later
                             : later + " and moved " + offset) +
         ": the lights or the calibration were changed. What is usual was moved along.";
}

}  // namespace

UsualCourse::UsualCourse(const signal::DayCourse::Quarters& stored, PhChange allowance_per_h)
    : allowance_per_h_(allowance_per_h),
      course_(stored),
      climb_(allowance_per_h.count()),
      doses_(kFades),
      mean_(course_.mean()) {}

void UsualCourse::expect(Instant now, PhChange per_millilitre, double share) {
  carried_ += (by_chemistry(now) * (share - share_)).count();
  share_ = share;
  per_millilitre_ = per_millilitre;
}

void UsualCourse::carry(std::optional<Ph> before, std::optional<Ph> after) {
  if (before && after) {
    carried_ += (*after - *before).count();
  }
}

void UsualCourse::follow(Moment now) {
  if (followed_ && followed_->wall_trusted && now.wall_trusted) {
    const Duration step = (now.wall - followed_->wall) - (now.mono - followed_->mono);
    if (std::chrono::abs(step) > kClockStep) {
      carry(undosed(now.wall - step), undosed(now.wall));
    }
  }
  followed_ = now;
}

void UsualCourse::take(Moment now, Ph value, Teaches teaches, Effects& effects) {
  if (teaches == Teaches::yes) {
    const auto before = undosed(now);
    const bool learned_before = course_.learned();
    const Ph without_doses = value - expected(now.mono);
    const auto news = course_.learn(now, without_doses.count());
    if (news) {
      mean_ = course_.mean();
    }
    if (news && news->move) {
      carry(before, undosed(now));
      store_all(effects);
      effects.emplace_back(
          Raise{{now.wall, Severity::warning, "usual-course-moved", sentence_of(*news->move)}});
    } else if (news) {
      store(news->quarter, effects);
      for (const int quarter : news->faded) {
        store(quarter, effects);
      }
    }
    if (!learned_before && course_.learned()) {
      effects.emplace_back(Raise{{now.wall, Severity::info, "usual-course-learned",
                                  "The usual course of the pH is learned: a climb is now judged by "
                                  "what is left beside it."}});
    }
  }
  if (const auto now_left = residual(now, value)) {
    climb_.learn(now.mono, now_left->value.count());
    newest_left_ = {now.mono, value, *now_left};
  }
}

void UsualCourse::take_up(Moment now, const Left& before) {
  const auto known = now.wall_trusted ? undosed(now.wall - (now.mono - before.at)) : std::nullopt;
  if (!known) {
    return;
  }
  newest_left_ = before;
  const double left = before.residual.value.count();
  carried_ = left - (before.value - (*known + expected(before.at))).count();
  climb_.take_up(before.at, left, before.residual.climb.count());
}

std::optional<rules::Residual> UsualCourse::residual(Moment now, Ph value) const {
  const auto expected = usual(now);
  if (!expected) {
    return std::nullopt;
  }
  const PhChange left = value - *expected + PhChange{carried_};
  const auto strongest = climb_.strongest(now.mono, left.count());
  return rules::Residual{left, PhChange{strongest.climb}, strongest.pace};
}

std::optional<Ph> UsualCourse::usual(Moment now) const {
  const auto known = undosed(now);
  return known ? std::optional{*known + expected(now.mono)} : std::nullopt;
}

std::optional<PhChange> UsualCourse::above(Moment now, Ph value, Ph reference) const {
  const auto at_this_hour = undosed(now);
  if (!at_this_hour || !mean_) {
    return std::nullopt;
  }
  return value - reference - (*at_this_hour - Ph{*mean_});
}

std::optional<Ph> UsualCourse::mean_of(int days) const {
  const bool enough = signal::DayCourse::kLearnedDays - course_.days_to_go() >= days;
  return mean_ && enough ? std::optional{Ph{*mean_}} : std::nullopt;
}

std::optional<std::array<double, signal::DayCourse::kQuarters>> UsualCourse::undosed_day(
    Moment now) const {
  std::array<double, signal::DayCourse::kQuarters> day{};
  if (!now.wall_trusted) {
    return std::nullopt;
  }
  WallTime middle{7min + 30s};
  for (double& value : day) {
    const auto ph = undosed(middle);
    if (!ph) {
      return std::nullopt;
    }
    value = ph->count();
    middle += 15min;
  }
  return day;
}

void UsualCourse::forget() {
  course_ = signal::DayCourse{};
  mean_.reset();
  climb_ = signal::JoinedClimb{allowance_per_h_.count()};
  newest_left_.reset();
  carried_ = 0.0;
}

std::optional<Ph> UsualCourse::undosed(Moment at) const {
  return at.wall_trusted ? undosed(at.wall) : std::nullopt;
}

std::optional<Ph> UsualCourse::undosed(WallTime at) const {
  const auto known = course_.learned() ? course_.usual(at) : std::nullopt;
  return known ? std::optional{Ph{*known}} : std::nullopt;
}

void UsualCourse::store_all(Effects& effects) const {
  for (int quarter = 0; quarter < signal::DayCourse::kQuarters; ++quarter) {
    store(quarter, effects);
  }
}

void UsualCourse::store(int quarter, Effects& effects) const {
  effects.emplace_back(
      StoreQuarter{quarter, course_.quarters()[static_cast<std::size_t>(quarter)]});
}

}  // namespace limegate::station
