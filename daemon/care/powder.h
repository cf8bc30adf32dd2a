#pragma once

#include <optional>
#include <vector>

#include "care/book.h"
#include "care/mixture.h"
#include "care/site.h"
#include "care/supply.h"

namespace limegate::care {

/// Grams of powder that a vessel of this bore takes, the least and the most: "10 cm 90–120 g, 15 cm
/// 120–150 g, 25 cm 150–180 g" (common practice, TRADE.md), and straight lines between them and
/// from nothing. Beyond the widest: as that one.
[[nodiscard]] Interval charge_of(Millimetres bore);

/// Of a reactor, where nobody says how warm it is.
inline constexpr Celsius kReactorAssumed{25.0};

/// What is left in the reactor, by mass balance: what was put in, less what went with the limewater
/// since. An estimate: from half to nine tenths of a charge comes into solution before it cakes or
/// turns to carbonate (CARE.md, section 6), and limewater is taken to be saturated.
struct Powder {
  Interval left_g;               ///< that can still be given
  std::optional<Interval> days;  ///< that it lasts at the present volume; absent: none is given
  Interval refill_g;             ///< until the vessel holds what it takes; zero: it does
};

/// What became of the powder in a reactor, once so much limewater had been given in all.
struct ReactorChange {
  Millilitres given_before;
  double added_g = 0.0;  ///< zero: it was emptied and cleaned
};
/// By what was given in all, and at so much a day. Absent: no powder was put in since the reactor
/// was cleaned last, or the count of what was given is no longer the one of then.
[[nodiscard]] std::optional<Powder> powder_left(std::vector<ReactorChange> changes,
                                                Millilitres given_in_all, Millilitres per_day,
                                                const Reactor& reactor);

/// Since the reactor was cleaned last. Absent: no powder is in the book since then, or nothing is
/// known of the reactor or of what was given. `book` holds what is to be used, by time.
[[nodiscard]] std::optional<Powder> powder_of(const Book& book, const Supply& supply,
                                              const Site& site, WallTime at);

}  // namespace limegate::care
