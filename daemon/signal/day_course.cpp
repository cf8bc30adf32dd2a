#include "signal/day_course.h"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdlib>

namespace limegate::signal {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

constexpr Duration kQuarter = 15min;
constexpr Duration kSeenAtLeast = 3min;
/// Wall clock and monotonic clock drift apart by less than this within a quarter of an hour.
constexpr Duration kClocksAgree = 2s;
/// How far to look for a neighbour that is known: stirring may always hide the same quarter.
constexpr int kNear = 4;

// A day tells of a move if it fits the usual course badly as it is and well once that is moved, and
// if the day before said the same. Source: our own reasoning, against the simulated tank.
constexpr int kDayQuartersMin = 72;
/// Of a day that showed less than this nothing is forgotten: the probe was away.
constexpr int kFadesFrom = 40;
constexpr int kShiftMax = 12;  ///< three hours either way
constexpr int kShiftMin = 2;
constexpr double kOffsetMin = 0.04;
constexpr double kFitsBadly = 0.03;
constexpr double kBetter = 0.5;
constexpr double kSameOffset = 0.03;

/// The place of a quarter that is counted on over midnight, either way.
std::size_t place(std::int64_t quarter) {
  constexpr int count = DayCourse::kQuarters;
  return static_cast<std::size_t>((quarter % count + count) % count);
}

std::int64_t quarter_number(WallTime at) {
  const Duration since = at.time_since_epoch();
  return since / kQuarter - (since % kQuarter < Duration::zero() ? 1 : 0);
}

}  // namespace

DayCourse::DayCourse(const Quarters& stored) : quarters_(stored) {
  for (Quarter& quarter : quarters_) {
    if (quarter.days < 0 || quarter.days > kMemoryDays || !std::isfinite(quarter.mean)) {
      quarter = {};
    }
  }
  count_days_to_go();
}

std::optional<DayCourse::News> DayCourse::learn(Moment at, double value) {
  if (!at.wall_trusted) {
    gathering_ = {};
    return std::nullopt;
  }
  const std::int64_t number = quarter_number(at.wall);
  const Duration apart = (at.wall - gathering_.first.wall) - (at.mono - gathering_.first.mono);
  std::optional<News> news;
  if (number != gathering_.number || std::chrono::abs(apart) > kClocksAgree) {
    if (gathering_.count > 0 && gathering_.last - gathering_.first.mono >= kSeenAtLeast) {
      news = News{static_cast<int>(gathering_.number % kQuarters), {}};
      close_day(gathering_.number / kQuarters, *news);
      keep(news->quarter, gathering_.sum / gathering_.count);
    }
    gathering_ = {number, at, at.mono, 0.0, 0};
  }
  if (std::isfinite(value) && number >= 0) {
    gathering_.sum += value;
    ++gathering_.count;
    gathering_.last = at.mono;
  }
  return news;
}

void DayCourse::keep(int quarter, double value) {
  const auto at = static_cast<std::size_t>(quarter);
  Quarter& kept = quarters_[at];
  kept.days = std::min(kept.days + 1, kMemoryDays);
  kept.mean += (value - kept.mean) / kept.days;
  day_.values[at] = value;
  day_.known.set(at);
  count_days_to_go();
}

std::vector<int> DayCourse::fade() {
  std::vector<int> faded;
  if (static_cast<int>(day_.known.count()) < kFadesFrom) {
    return faded;
  }
  for (int quarter = 0; quarter < kQuarters; ++quarter) {
    Quarter& kept = quarters_[place(quarter)];
    if (!day_.known[place(quarter)] && kept.days > 0) {
      --kept.days;
      faded.push_back(quarter);
    }
  }
  return faded;
}

void DayCourse::close_day(std::int64_t next, News& news) {
  if (next == day_.number) {
    return;
  }
  const std::optional<Move> seen = learned() ? move_seen() : std::nullopt;
  const bool again = seen && seen_yesterday_ &&
                     std::abs(seen->quarters - seen_yesterday_->quarters) <= 1 &&
                     std::abs(seen->offset - seen_yesterday_->offset) <= kSameOffset;
  seen_yesterday_ = again ? std::nullopt : seen;
  news.faded = fade();
  day_ = {next, {}, {}};
  if (again) {
    apply(*seen);
    news.move = seen;
  }
}

std::optional<DayCourse::Move> DayCourse::move_seen() const {
  if (static_cast<int>(day_.known.count()) < kDayQuartersMin) {
    return std::nullopt;
  }
  struct Fit {
    double offset = 0.0;  ///< of the day from the course moved by so much
    double left = 0.0;    ///< root mean square, without that offset where it counts as one
  };
  const auto fit = [&](int shift) {
    double sum = 0.0;
    double squares = 0.0;
    int count = 0;
    for (int quarter = 0; quarter < kQuarters; ++quarter) {
      const Quarter& usual = quarters_[place(quarter - shift)];
      if (day_.known[place(quarter)] && usual.days > 0) {
        const double difference = day_.values[place(quarter)] - usual.mean;
        sum += difference;
        squares += difference * difference;
        ++count;
      }
    }
    const double offset = count > 0 ? sum / count : 0.0;
    const double counts = std::abs(offset) >= kOffsetMin ? offset : 0.0;
    return Fit{counts, count > 0 ? std::sqrt(std::max(
                                       squares / count - counts * (2.0 * offset - counts), 0.0))
                                 : 0.0};
  };
  const Fit unmoved = fit(0);
  const double as_it_is = std::hypot(unmoved.left, unmoved.offset);
  Move best;
  double best_left = as_it_is;
  for (int shift = -kShiftMax; shift <= kShiftMax; ++shift) {
    if (const Fit moved = fit(shift); moved.left < best_left) {
      best_left = moved.left;
      best = {shift, moved.offset};
    }
  }
  const bool moved = std::abs(best.quarters) >= kShiftMin || best.offset != 0.0;
  if (!moved || as_it_is < kFitsBadly || best_left > kBetter * as_it_is) {
    return std::nullopt;
  }
  return best;
}

void DayCourse::apply(const Move& move) {
  const Quarters before = quarters_;
  for (int quarter = 0; quarter < kQuarters; ++quarter) {
    Quarter& moved = quarters_[place(quarter)];
    moved = before[place(quarter - move.quarters)];
    moved.mean += move.offset;
  }
}

bool DayCourse::known_near(int quarter, int days) const {
  for (int away = 0; away <= kNear; ++away) {
    if (quarters_[place(quarter + away)].days >= days ||
        quarters_[place(quarter - away)].days >= days) {
      return true;
    }
  }
  return false;
}

void DayCourse::count_days_to_go() {
  int days = kLearnedDays;
  for (int quarter = 0; quarter < kQuarters; ++quarter) {
    while (days > 0 && !known_near(quarter, days)) {
      --days;
    }
  }
  days_to_go_ = kLearnedDays - days;
}

std::optional<double> DayCourse::usual(WallTime at) const {
  // From the middle of one quarter to the middle of the next, or the next ones that are known.
  const WallTime from = at - kQuarter / 2;
  const std::int64_t number = quarter_number(from);
  const auto known = [&](int away) { return quarters_[place(number + away)].days > 0; };
  int before = 0;
  while (before >= -kNear && !known(before)) {
    --before;
  }
  int after = 1;
  while (after <= kNear + 1 && !known(after)) {
    ++after;
  }
  const bool left = before >= -kNear;
  const bool right = after <= kNear + 1;
  if (!left && !right) {
    return std::nullopt;
  }
  const double left_mean = quarters_[place(number + (left ? before : after))].mean;
  const double right_mean = quarters_[place(number + (right ? after : before))].mean;
  const double into = std::chrono::duration<double>(from.time_since_epoch() - number * kQuarter) /
                      std::chrono::duration<double>(kQuarter);
  return left_mean + (right_mean - left_mean) * (into - before) / (after - before);
}

std::optional<double> DayCourse::mean() const {
  double sum = 0.0;
  for (int quarter = 0; quarter < kQuarters; ++quarter) {
    const auto value = usual(WallTime{kQuarter * quarter + kQuarter / 2});
    if (!value) {
      return std::nullopt;
    }
    sum += *value;
  }
  return sum / kQuarters;
}

int DayCourse::days() const {
  return std::max_element(quarters_.begin(), quarters_.end(),
                          [](const Quarter& a, const Quarter& b) { return a.days < b.days; })
      ->days;
}

}  // namespace limegate::signal
