#include "station/upkeep_watch.h"

#include <algorithm>
#include <chrono>
#include <string>
#include <utility>

#include "care/commission_step.h"
#include "care/entry_reader.h"
#include "chemistry/limewater.h"
#include "rules/for_people.h"

namespace limegate::station {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using care::Chore;
using care::UpkeepItem;

constexpr Duration kLooksEvery = 10min;
/// A test by hand that was written down within this of its making is compared with the probe.
constexpr Duration kBesideTheProbe = 15min;

/// The undosed days of commissioning take three; a day more, and somebody has forgotten it.
constexpr Duration kCommissioningWaits = 96h;
constexpr const char* kWaitsId = "commissioning-waits";

/// By alerts and events; stable.
struct Ids {
  const char* due;
  const char* done;
};
Ids ids_of(Chore chore) {
  constexpr std::array<Ids, care::kChores> ids{{
      {"upkeep-refill", "upkeep-refill-done"},
      {"upkeep-clean", "upkeep-clean-done"},
      {"upkeep-calibrate", "upkeep-calibrate-done"},
      {"upkeep-tube", "upkeep-tube-done"},
      {"upkeep-rate", "upkeep-rate-done"},
      {"upkeep-buffers", "upkeep-buffers-done"},
      {"upkeep-kit", "upkeep-kit-done"},
      {"upkeep-electrode", "upkeep-electrode-done"},
  }};
  return ids.at(static_cast<std::size_t>(chore));
}

/// The larger one by both clocks, of those that can be believed; never below zero.
Duration age_of(const BookEntry& entry, const UpkeepWatch::Look& look) {
  const Duration late = entry.entered.wall - entry.row.at;
  const Duration by_uptime = look.today.lifetime - entry.entered.lifetime + late;
  const Duration by_wall = look.now.wall_trusted ? look.now.wall - entry.row.at : by_uptime;
  return std::max({Duration::zero(), by_uptime, by_wall});
}

/// What had been given when it was done: what was written down late was done that much earlier.
std::optional<Millilitres> given_before(const BookEntry& entry, Millilitres per_day) {
  if (!entry.given_before) {
    return std::nullopt;
  }
  const double days = std::max(0.0, care::days_between(entry.row.at, entry.entered.wall));
  return std::max(Millilitres{0.0}, *entry.given_before - per_day * days);
}

care::UpkeepKnown known_from(const UpkeepWatch::Look& look, MillilitresPerMinute pump_rate) {
  care::UpkeepKnown known{{}, look.today.lifetime, look.given_in_all, pump_rate, {}, {}};
  for (const BookEntry& entry : look.entries) {
    std::size_t chore = 0;
    while (chore < care::kChores && care::entry_of(static_cast<Chore>(chore)) != entry.row.what) {
      ++chore;
    }
    if (entry.undone || chore == care::kChores) {
      continue;
    }
    auto& newest = known.newest.at(chore);
    const Duration ago = age_of(entry, look);
    if (!newest || ago <= newest->ago) {
      const auto then = given_before(entry, look.per_day);
      const bool counts = then && look.given_in_all && *then <= *look.given_in_all;
      newest = care::Done{ago, counts ? std::optional{*look.given_in_all - *then} : std::nullopt};
    }
  }
  return known;
}

/// Of the newest pH by hand, if it is newer than the calibration.
std::optional<PhChange> drift_of(const UpkeepWatch::Look& look, const care::UpkeepKnown& known) {
  const auto& calibrated = known.newest.at(static_cast<std::size_t>(Chore::calibrate));
  std::optional<PhChange> drift;
  for (const BookEntry& entry : look.entries) {
    const Duration late = entry.entered.wall - entry.row.at;
    if (entry.undone || entry.row.what != "ph" || !entry.ph_shown || late > kBesideTheProbe ||
        (calibrated && age_of(entry, look) >= calibrated->ago)) {
      continue;
    }
    care::Written row = entry.row;
    const auto read = care::read_entry(row);
    const auto* test = read ? std::get_if<care::PhTest>(&read->what) : nullptr;
    drift = test != nullptr ? std::optional{*entry.ph_shown - test->level} : drift;
  }
  return drift;
}

/// Absent as soon as of one of them nobody knows what had been given.
std::optional<std::vector<care::ReactorChange>> changes_of(const UpkeepWatch::Look& look) {
  std::vector<care::ReactorChange> changes;
  for (const BookEntry& entry : look.entries) {
    care::Written row = entry.row;
    const auto read = care::read_entry(row);
    if (entry.undone || !read) {
      continue;
    }
    const auto* powder = std::get_if<care::PowderAdded>(&read->what);
    const bool cleaned = std::holds_alternative<care::ReactorCleaned>(read->what);
    if (powder == nullptr && !cleaned) {
      continue;
    }
    const auto before = given_before(entry, look.per_day);
    if (!before) {
      return std::nullopt;
    }
    changes.push_back({*before, cleaned ? 0.0 : powder->mass.count() * 1000.0});
  }
  return changes;
}

}  // namespace

UpkeepWatch::UpkeepWatch(const Settings& settings)
    : reactor_{settings.plan.reactor_bore, 0.0}, pump_rate_(settings.plan.pump_rate) {
  if (const auto limewater = chemistry::saturated_limewater(care::kReactorAssumed)) {
    reactor_.powder_g_per_ml = chemistry::powder_grams(*limewater, Millilitres{1.0});
  }
}

bool UpkeepWatch::is_due(Instant now, std::int64_t changes) const {
  return !looked_ || changes_ != changes || now - *looked_ >= kLooksEvery;
}

void UpkeepWatch::look(const Look& look, Effects& effects) {
  looked_ = look.now.mono;
  changes_ = look.changes;
  care::UpkeepKnown known = known_from(look, pump_rate_);
  known.drift = drift_of(look, known);
  const auto changes = changes_of(look);
  known.powder = changes && look.given_in_all
                     ? care::powder_left(*changes, *look.given_in_all, look.per_day, reactor_)
                     : std::nullopt;
  powder_ = known.powder;
  items_ = care::upkeep_of(known);
  tell(look.now, effects);
  tell_of_commissioning(look, effects);
}

void UpkeepWatch::tell_of_commissioning(const Look& look, Effects& effects) {
  const BookEntry* newest = nullptr;
  for (const BookEntry& entry : look.entries) {
    newest = !entry.undone && entry.row.what == "step" ? &entry : newest;
  }
  // Who left it and has dosed since wishes nothing more of it. A run to prime the line is no
  // dosing.
  constexpr Millilitres priming{500.0};
  const bool dosed = newest != nullptr && newest->given_before && look.given_in_all &&
                     *look.given_in_all > *newest->given_before + priming;
  const bool begun = newest != nullptr && !dosed && !(look.at_station > Millilitres{0.0}) &&
                     newest->row.value != care::name_of(care::Step::half_dose);
  const Duration waits = begun ? age_of(*newest, look) : Duration::zero();
  if (waits >= kCommissioningWaits && !std::exchange(commissioning_told_, true)) {
    effects.emplace_back(
        Raise{{look.now.wall, Severity::alert, kWaitsId,
               "Commissioning has waited since its step " + newest->row.value + ", " +
                   rules::for_people(waits) +
                   " ago, and nothing is dosed until it is over: the day's volume is 0 mL.",
               kWaitsId}});
  } else if (waits < kCommissioningWaits && std::exchange(commissioning_told_, false)) {
    effects.emplace_back(Raise{{look.now.wall,
                                Severity::info,
                                "commissioning-goes-on",
                                "Commissioning goes on, or is over.",
                                {},
                                kWaitsId}});
  }
}

void UpkeepWatch::tell(Moment now, Effects& effects) {
  for (const UpkeepItem& item : items_) {
    const Ids ids = ids_of(item.chore);
    const bool due = item.state == UpkeepItem::State::due;
    if (due && told_.insert(item.chore).second) {
      effects.emplace_back(Raise{{now.wall, Severity::alert, ids.due, item.sentence, ids.due}});
    } else if (!due && told_.erase(item.chore) > 0) {
      effects.emplace_back(Raise{{now.wall, Severity::info, ids.done, item.sentence, {}, ids.due}});
    }
  }
}

}  // namespace limegate::station
