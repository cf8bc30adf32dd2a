#include "care/powder.h"

#include <algorithm>
#include <array>
#include <cstddef>

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

std::optional<Powder> powder_of(const Book& book, const Supply& supply, const Site& site,
                                WallTime at) {
  if (!site.reactor || supply.empty()) {
    return std::nullopt;
  }
  const double grams_per_ml = site.reactor->powder_g_per_ml;
  std::optional<Balance> balance;
  WallTime since{};
  const auto pass = [&](WallTime until) {
    if (balance) {
      balance->spend(supply.between(since, until).volume.count() * grams_per_ml);
    }
    since = until;
  };
  for (const Entry& entry : book.entries) {
    if (entry.at > at) {
      break;
    }
    if (std::holds_alternative<ReactorCleaned>(entry.what)) {
      balance.reset();
    } else if (const auto* powder = std::get_if<PowderAdded>(&entry.what)) {
      pass(entry.at);
      balance = balance.value_or(Balance{});
      balance->add(powder->mass.count() * 1000.0);
    }
  }
  if (!balance) {
    return std::nullopt;
  }
  pass(at);
  const Interval charge = charge_of(site.reactor->bore);
  Powder left{
      balance->usable,
      {},
      {std::max(0.0, charge.low - balance->whole), std::max(0.0, charge.high - balance->whole)}};
  const double a_day = supply.present().count() * grams_per_ml;
  if (a_day > 0.0) {
    left.days = Interval{left.left_g.low / a_day, left.left_g.high / a_day};
  }
  return left;
}

}  // namespace limegate::care
