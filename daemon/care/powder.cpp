#include "care/powder.h"

#include <algorithm>
#include <array>
#include <cstddef>
#include <utility>
#include <variant>

namespace limegate::care {
namespace {

/// What comes into solution of a charge, at the least and at the most (CARE.md, section 6).
constexpr double kUsableLeast = 0.5, kUsableMost = 0.9;

/// In the vessel, from the first charge after it was empty.
struct Balance {
  Interval usable;     ///< g
  double whole = 0.0;  ///< g, with what never comes into solution

  void add(double grams) {
    usable.low += kUsableLeast * grams;
    usable.high += kUsableMost * grams;
    whole += grams;
  }
  /// What is no longer there gave no more: the limewater was weak then.
  void spend(double grams) {
    usable.low = std::max(0.0, usable.low - grams);
    usable.high = std::max(0.0, usable.high - grams);
    whole = std::max(0.0, whole - grams);
  }
};

}  // namespace

Interval charge_of(Millimetres bore) {
  constexpr std::array<std::array<double, 3>, 4> known{
      {{0, 0, 0}, {100, 90, 120}, {150, 120, 150}, {250, 150, 180}}};
  std::size_t above = 1;
  while (above + 1 < known.size() && bore.count() > known.at(above)[0]) {
    ++above;
  }
  const auto& from = known.at(above - 1);
  const auto& to = known.at(above);
  const double share = std::min(1.0, (bore.count() - from[0]) / (to[0] - from[0]));
  return {from[1] + share * (to[1] - from[1]), from[2] + share * (to[2] - from[2])};
}

std::optional<Powder> powder_left(std::vector<ReactorChange> changes, Millilitres given_in_all,
                                  Millilitres per_day, const Reactor& reactor) {
  std::stable_sort(changes.begin(), changes.end(),
                   [](const auto& a, const auto& b) { return a.given_before < b.given_before; });
  if (!changes.empty() && changes.back().given_before > given_in_all) {
    return std::nullopt;
  }
  std::optional<Balance> balance;
  Millilitres since{0.0};
  const auto pass = [&](Millilitres until) {
    if (balance) {
      balance->spend((until - since).count() * reactor.powder_g_per_ml);
    }
    since = until;
  };
  for (const ReactorChange& change : changes) {
    pass(change.given_before);
    if (change.added_g > 0.0) {
      balance = balance.value_or(Balance{});
      balance->add(change.added_g);
    } else {
      balance.reset();
    }
  }
  if (!balance) {
    return std::nullopt;
  }
  pass(given_in_all);
  const Interval charge = charge_of(reactor.bore);
  Powder left{
      balance->usable,
      {},
      {std::max(0.0, charge.low - balance->whole), std::max(0.0, charge.high - balance->whole)}};
  const double a_day = per_day.count() * reactor.powder_g_per_ml;
  if (a_day > 0.0) {
    left.days = Interval{left.left_g.low / a_day, left.left_g.high / a_day};
  }
  return left;
}

std::optional<Powder> powder_of(const Book& book, const Supply& supply, const Site& site,
                                WallTime at) {
  if (!site.reactor || supply.empty()) {
    return std::nullopt;
  }
  std::vector<ReactorChange> changes;
  std::optional<WallTime> first;
  for (const Entry& entry : book.entries) {
    const auto* powder = std::get_if<PowderAdded>(&entry.what);
    const bool cleaned = std::holds_alternative<ReactorCleaned>(entry.what);
    if (entry.at <= at && (powder != nullptr || cleaned)) {
      first = first.value_or(entry.at);
      changes.push_back(
          {supply.between(*first, entry.at).volume, cleaned ? 0.0 : powder->mass.count() * 1000.0});
    }
  }
  return first ? powder_left(std::move(changes), supply.between(*first, at).volume,
                             supply.present(), *site.reactor)
               : std::nullopt;
}

}  // namespace limegate::care
