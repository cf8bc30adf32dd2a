// What the gate tells of its holds, and latches to keep.

#include <algorithm>
#include <utility>

#include "station/gate.h"

namespace limegate::station {
namespace {

/// A hold that comes with every pulse is shown while it lasts, and is no event.
bool routine(const std::string& code) {
  static const std::string disturbed = rules::code_of(rules::ProbeDisturbed{});
  return code == disturbed;
}

/// A hold that ends so that what is wrong is tried again: the alert of it ends where it began.
bool tries_again(const std::string& code) {
  static const std::string slow = rules::code_of(rules::DiskSlow{});
  return code == slow;
}

bool waits_for_person(const rules::Hold& hold) {
  return rules::clears(hold) == rules::Clears::by_person;
}

}  // namespace

std::string told(const rules::Hold& hold, StirrerKind stirrer) {
  const bool unplug =
      rules::flow(hold) == rules::Flow::perhaps_uncommanded && stirrer == StirrerKind::observed;
  return rules::sentence_of(hold) +
         (unplug ? " Unplug the stirrer: it runs on a timer of its own, and what flows would be "
                   "milk."
                 : "");
}

void Gate::note_changes(Moment now, rules::Holds&& holds, Effects& effects) {
  const auto same = [&] {
    return holds_.size() == holds.size() &&
           std::equal(standing_.begin(), standing_.end(), holds.begin(),
                      [](const Standing& standing, const rules::Hold& hold) {
                        return standing.code == rules::code_of(hold) &&
                               standing.for_person == waits_for_person(hold);
                      });
  };
  if (!same()) {
    std::vector<Standing> standing;
    for (const rules::Hold& hold : holds) {
      Standing fresh{rules::code_of(hold), now, waits_for_person(hold)};
      const auto old = std::find(standing_.begin(), standing_.end(), fresh);
      const bool news = old == standing_.end() || (fresh.for_person && !old->for_person);
      if (news && !routine(fresh.code)) {
        effects.emplace_back(Raise{{now.wall, fresh.for_person ? Severity::alert : Severity::info,
                                    "held-" + fresh.code, told(hold, stirrer_),
                                    fresh.for_person ? fresh.code : ""}});
      }
      fresh.since = old == standing_.end() ? now : old->since;
      standing.push_back(std::move(fresh));
    }
    for (const Standing& old : standing_) {
      if (std::find(standing.begin(), standing.end(), old) == standing.end() &&
          !routine(old.code)) {
        effects.emplace_back(Raise{{now.wall,
                                    Severity::info,
                                    "cleared-" + old.code,
                                    "No longer held: " + old.code + ".",
                                    {},
                                    tries_again(old.code) ? "" : old.code}});
      }
    }
    standing_ = std::move(standing);
  }
  holds_ = std::move(holds);
}

void Gate::note_stuck_again(Moment now, const rules::Snapshot& known, Effects& effects) {
  const auto note = [&](rules::OutletKnown outlet, bool latched, bool& reads_on,
                        rules::OutletRole role) {
    const bool was = std::exchange(reads_on, outlet == rules::OutletKnown::stuck_on);
    if (reads_on && !was && latched) {
      const rules::OutletStuckOn hold{role};
      effects.emplace_back(Raise{{now.wall, Severity::alert, "again-" + rules::code_of(hold),
                                  told(hold, stirrer_), rules::code_of(hold)}});
    }
  };
  note(known.pump_outlet, memory_.pump_stuck_latched, pump_reads_on_, rules::OutletRole::pump);
  note(known.stirrer_outlet, memory_.stirrer_stuck_latched, stirrer_reads_on_,
       rules::OutletRole::stirrer);
}

}  // namespace limegate::station
