#include "care/supply.h"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <optional>

namespace limegate::care {
namespace {

constexpr Duration kDay = std::chrono::hours{24};
/// How far a day of which no row tells may be from those beside it: it may have been missed, or be
/// twice as much. Ours.
constexpr double kGapSd = 0.5;
/// The day that runs on after the last row, whose own row is written when it is over. Ours.
constexpr double kRunningDaySd = 0.1;
/// The same before the first row, where perhaps nothing was given.
constexpr double kBeforeSd = 1.0;

struct Row {
  WallTime from;
  Millilitres volume;
};

/// Sorted, as the book is.
std::vector<Row> rows_of(const Book& book) {
  std::vector<Row> rows;
  for (const Entry& entry : book.entries) {
    if (const auto* given = std::get_if<LimewaterGiven>(&entry.what)) {
      rows.push_back({entry.at, given->volume});
    }
  }
  return rows;
}

/// Mean of the rows that tell of this moment.
std::optional<Millilitres> told(const std::vector<Row>& rows, WallTime at) {
  const auto after = std::upper_bound(rows.begin(), rows.end(), at,
                                      [](WallTime t, const Row& row) { return t < row.from; });
  Millilitres sum;
  int count = 0;
  for (auto row = after; row != rows.begin() && at - std::prev(row)->from < kDay; --row) {
    sum += std::prev(row)->volume;
    ++count;
  }
  return count == 0 ? std::nullopt : std::optional{sum / count};
}

/// Every moment at which it may change.
std::vector<WallTime> changes_of(const std::vector<Row>& rows, WallTime at) {
  std::vector<WallTime> times{at, rows.back().from + 2 * kDay};
  times.reserve(2 * rows.size() + 2);
  for (const Row& row : rows) {
    times.push_back(row.from);
    times.push_back(row.from + kDay);
  }
  std::sort(times.begin(), times.end());
  times.erase(std::unique(times.begin(), times.end()), times.end());
  return times;
}

/// Of the last row that begins before `at` and tells of the hours before it.
Millilitres last_told(const std::vector<Row>& rows, WallTime at) {
  const auto after = std::upper_bound(rows.begin(), rows.end(), at,
                                      [](WallTime t, const Row& row) { return t < row.from; });
  return after == rows.begin() ? rows.front().volume : std::prev(after)->volume;
}

}  // namespace

Supply::Supply(const Book& book, WallTime at) {
  const std::vector<Row> rows = rows_of(book);
  if (rows.empty()) {
    return;
  }
  present_ = told(rows, at).value_or(last_told(rows, at));
  for (const WallTime from : changes_of(rows, at)) {
    if (from < rows.front().from) {
      continue;
    }
    if (const auto volume = told(rows, from)) {
      pieces_.push_back({from, *volume, 0.0});
      continue;
    }
    const auto next = std::upper_bound(rows.begin(), rows.end(), from,
                                       [](WallTime t, const Row& row) { return t < row.from; });
    const Millilitres before = last_told(rows, from);
    const Millilitres mean = next == rows.end() ? before : 0.5 * (before + next->volume);
    const bool running = next == rows.end() && from < rows.back().from + 2 * kDay;
    pieces_.push_back(from >= at ? Piece{from, present_, 0.0}
                                 : Piece{from, mean, running ? kRunningDaySd : kGapSd});
  }
}

Millilitres Supply::at(WallTime when) const {
  const auto after =
      std::upper_bound(pieces_.begin(), pieces_.end(), when,
                       [](WallTime t, const Piece& piece) { return t < piece.from; });
  return after == pieces_.begin() ? Millilitres{0.0} : std::prev(after)->per_day;
}

Supply::Given Supply::between(WallTime from, WallTime to) const {
  Given given{};
  if (empty()) {
    return given;
  }
  double variance = 0.0;
  const auto add = [&](WallTime begin, WallTime end, const Piece& piece) {
    const double days = days_between(std::max(from, begin), std::min(to, end));
    if (!(days > 0.0)) {
      return;
    }
    given.volume += days * piece.per_day;
    variance += std::pow(piece.sd * days * piece.per_day.count(), 2);
    given.unknown_days += piece.sd > 0.0 ? days : 0.0;
  };
  const Piece& first = pieces_.front();
  add(std::min(from, first.from), first.from, {from, first.per_day, kBeforeSd});
  for (std::size_t i = 0; i < pieces_.size(); ++i) {
    add(pieces_[i].from, i + 1 < pieces_.size() ? pieces_[i + 1].from : WallTime::max(),
        pieces_[i]);
  }
  given.sd = Millilitres{std::sqrt(variance)};
  return given;
}

}  // namespace limegate::care
