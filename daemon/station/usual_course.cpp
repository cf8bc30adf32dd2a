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

Duration apart(Moment now) { return now.wall.time_since_epoch() - now.mono.time_since_epoch(); }

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
    : course_(stored), climb_(allowance_per_h.count()) {}

bool UsualCourse::stepped(Moment now) const {
  return clocks_apart_ && std::chrono::abs(apart(now) - *clocks_apart_) > kClockStep;
}

void UsualCourse::take(Moment now, Ph value, Teaches teaches, Effects& effects) {
  if (stepped(now)) {
    climb_.forget();  // another time of day is no climb
  }
  clocks_apart_ = apart(now);
  const bool learned = course_.learned();
  if (teaches == Teaches::yes) {
    if (const auto news = course_.learn(now, value.count())) {
      if (news->move) {
        climb_.forget();
        store_all(effects);
        effects.emplace_back(
            Raise{{now.wall, Severity::warning, "usual-course-moved", sentence_of(*news->move)}});
      } else {
        const auto quarter = static_cast<std::size_t>(news->quarter);
        effects.emplace_back(StoreQuarter{news->quarter, course_.quarters()[quarter]});
      }
    }
    if (!learned && course_.learned()) {
      effects.emplace_back(Raise{{now.wall, Severity::info, "usual-course-learned",
                                  "The usual course of the pH is learned: a climb is now judged by "
                                  "what is left beside it."}});
    }
  }
  if (course_.learned()) {
    if (const auto usual = course_.usual(now.wall)) {
      climb_.learn(now.mono, value.count() - *usual);
    }
  }
}

std::optional<rules::Residual> UsualCourse::residual(Moment now, Ph value) const {
  const auto usual = course_.learned() && !stepped(now) ? course_.usual(now.wall) : std::nullopt;
  if (!usual) {
    return std::nullopt;
  }
  const double left = value.count() - *usual;
  return rules::Residual{PhChange{left}, PhChange{climb_.rise(now.mono, left)}};
}

std::optional<Ph> UsualCourse::usual(WallTime at) const {
  const auto usual = course_.learned() ? course_.usual(at) : std::nullopt;
  return usual ? std::optional{Ph{*usual}} : std::nullopt;
}

void UsualCourse::store_all(Effects& effects) const {
  for (int quarter = 0; quarter < signal::DayCourse::kQuarters; ++quarter) {
    effects.emplace_back(
        StoreQuarter{quarter, course_.quarters()[static_cast<std::size_t>(quarter)]});
  }
}

}  // namespace limegate::station
