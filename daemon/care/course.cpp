#include "care/course.h"

#include <algorithm>
#include <cmath>

#include "chemistry/keeper_units.h"

namespace limegate::care {
namespace {

/// New water whose alkalinity nobody told: that of mixed salt, 7 to 11 dKH (common practice).
constexpr double kNewWater = 8.5;
constexpr double kNewWaterSd = 1.5;
/// New water that was told was tested by some kit (CARE.md, section 1: a kit's own bias).
constexpr double kToldWaterSd = 0.4;
/// A supplement is weighed out to about so much (CARE.md, section 2).
constexpr double kSupplementSd = 0.05;

Move change_of(Litres volume, const NewWater* known, const Site& site) {
  const double share = std::min(1.0, volume / site.water);
  const double level = known != nullptr ? known->alkalinity.count() : kNewWater;
  const double sd = share * (known != nullptr ? kToldWaterSd : kNewWaterSd);
  Move move;
  move.kept = 1.0 - share;
  move.added = share * level;
  move.added_variance = sd * sd;
  return move;
}

Move supplement_of(Milliequivalents alkalinity, const Site& site) {
  Move move;
  move.added = chemistry::to_dkh(MeqPerLitre{alkalinity.count() / site.water.count()}).count();
  move.added_variance = std::pow(kSupplementSd * move.added, 2);
  return move;
}

/// Where a step of demand is looked for in so many days: one moment for each two or three of them.
int cuts_in(double days) {
  constexpr double least = 0.2;  // of hours no test tells
  return days < least ? 0 : std::clamp(static_cast<int>(std::ceil(days / 2.5)), 1, 5);
}

}  // namespace

Course::Course(const Book& book, const Site& site, WallTime at) : site_(site), supply_(book, at) {
  const NewWater* known = nullptr;
  for (const Entry& entry : book.entries) {
    if (const auto* water = std::get_if<NewWater>(&entry.what)) {
      known = water;
    } else if (const auto* change = std::get_if<WaterChange>(&entry.what)) {
      mixed_.push_back({entry.at, change_of(change->volume, known, site)});
    } else if (const auto* supplement = std::get_if<Supplement>(&entry.what)) {
      mixed_.push_back({entry.at, supplement_of(supplement->alkalinity, site)});
    }
  }
}

std::vector<Move> Course::moves(WallTime from, WallTime to) const {
  std::vector<Move> moves;
  const auto pass = [&](WallTime until, Move move) {
    const Supply::Given given = supply_.between(from, until);
    move.days = days_between(from, until);
    move.supply = given.volume.count() * site_.per_millilitre.count();
    move.supply_variance = std::pow(given.sd.count() * site_.per_millilitre.count(), 2);
    moves.push_back(move);
    from = until;
  };
  for (const Mixed& mixed : mixed_) {
    if (mixed.at >= from && mixed.at < to) {
      pass(mixed.at, mixed.move);
    }
  }
  pass(to, {});
  return moves;
}

Stretch Course::between(WallTime from, WallTime to) const {
  Stretch stretch{moves(from, to), {}, days_between(from, to)};
  const int cuts = cuts_in(stretch.days);
  stretch.cuts.reserve(static_cast<std::size_t>(cuts));
  for (int i = 0; i < cuts; ++i) {
    const WallTime at =
        from + std::chrono::duration_cast<Duration>((to - from) * ((i + 0.5) / cuts));
    stretch.cuts.push_back({moves(from, at), moves(at, to)});
  }
  return stretch;
}

}  // namespace limegate::care
