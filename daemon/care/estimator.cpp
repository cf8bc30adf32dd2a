#include "care/estimator.h"

#include <chrono>
#include <cmath>
#include <string>
#include <utility>
#include <vector>

namespace limegate::care {
namespace {

/// What was tested before says nothing of the demand of now.
constexpr Duration kOld = std::chrono::hours{24 * 180};
/// Tests within an hour are one test made twice: they tell a level, and no demand.
constexpr double kApart = 1.0 / 24.0;
/// What two kits of syringes differ by, each off by 0.4 dKH (CARE.md, section 1).
constexpr double kOtherKitSd = 0.57;
/// CARE.md, section 4: beyond three standard deviations one asks for another test.
constexpr double kFar = 3.0;
/// The 90 % interval of a normal number, from its middle to its end, in standard deviations.
constexpr double kNinety = 1.645;

struct Reading {
  WallTime at;
  double level;
  std::string kit;
};

std::vector<Reading> readings_of(const Book& book, WallTime at) {
  std::vector<Reading> readings;
  for (const Entry& entry : book.entries) {
    const auto* test = std::get_if<AlkalinityTest>(&entry.what);
    if (test != nullptr && entry.at <= at && at - entry.at <= kOld) {
      readings.push_back({entry.at, test->level.count(), test->kit});
    }
  }
  return readings;
}

double supply_between(const Course& course, WallTime from, WallTime to) {
  double sum = 0.0;
  for (const Move& move : course.between(from, to).moves) {
    sum += move.supply;
  }
  return sum;
}

/// The same without a step of demand: what is foretold is foretold of the tank as it is.
Stretch quiet(Stretch stretch) {
  stretch.cuts.clear();
  return stretch;
}

/// Whether a test is far from where it was to be expected.
bool is_far(const Estimate& expected, double level) {
  const double sd = (level > expected.median ? expected.ninety.high - expected.median
                                             : expected.median - expected.ninety.low) /
                    kNinety;
  return std::abs(level - expected.median) > kFar * sd;
}

/// Takes in all of them; whether the newest is doubtful.
bool learn_all(Bank& bank, const std::vector<Reading>& readings, const Course& course) {
  bool far = false;
  const Reading* last = &readings.front();
  for (const Reading& reading : readings) {
    const Stretch since = course.between(last->at, reading.at);
    if (&reading == &readings.back()) {
      Bank expecting = bank;
      expecting.pass(quiet(since));
      far = is_far(expecting.mixture().reading(), reading.level);
    }
    bank.pass(since);
    if (reading.kit != last->kit) {
      Move other_kit;
      other_kit.added_variance = kOtherKitSd * kOtherKitSd;
      bank.pass({{other_kit}, {}, 0.0});
    }
    bank.learn(reading.level);
    last = &reading;
  }
  return far || bank.slip_chance() > 0.5;
}

/// In whole days from `at`; within four weeks.
WallTime best_next(Bank bank, const Course& course, WallTime at) {
  constexpr int most = 28;
  constexpr Duration day = std::chrono::hours{24};
  WallTime when = at;
  for (int i = 0; i < most; ++i) {
    bank.pass(quiet(course.between(when, when + day)));
    when += day;
    const Mixture then = bank.mixture();
    if (then.level_sd() >= then.kit_sd()) {
      break;
    }
  }
  return when;
}

}  // namespace

std::optional<Estimates> estimate(const Book& book, const Course& course, WallTime at,
                                  WallTime next) {
  const std::vector<Reading> readings = readings_of(book, at);
  if (readings.empty() || course.supply().empty()) {
    return std::nullopt;
  }
  const double span = days_between(readings.front().at, readings.back().at);
  if (!(span > kApart)) {
    return std::nullopt;
  }
  const double supply = supply_between(course, readings.front().at, readings.back().at) / span;
  Bank bank{usual_assumptions(), readings.front().level, supply};
  const bool doubtful = learn_all(bank, readings, course);
  bank.pass(course.between(readings.back().at, at));
  Mixture now = bank.mixture();
  const WallTime best = best_next(bank, course, at);
  bank.pass(quiet(course.between(at, next)));
  return Estimates{std::move(now), bank.mixture(), readings.size(), span, doubtful, best};
}

}  // namespace limegate::care
