// What a world says of itself.

#include <algorithm>
#include <chrono>
#include <utility>

#include "app/world.h"

namespace limegate::app {
namespace {

/// A healthy bus confirms an off within this.
constexpr Duration kOffWithin = std::chrono::seconds{5};

/// A time service is heard of within minutes after a boot.
constexpr Duration kClockSetWithin = std::chrono::minutes{10};
constexpr Duration kRecordWithin = std::chrono::minutes{10};

}  // namespace

/// Told once, when a time service has had its time; and when the clock is right at last.
void World::note_clock() {
  const Moment now = pace_.clock().now();
  if (now.wall_trusted && clock_told_) {
    clock_told_ = false;
    raise("", {now.wall,
               station::Severity::info,
               "clock-set",
               "The machine's clock is trusted now, and with it the hour.",
               {},
               "clock-not-set"});
  } else if (!now.wall_trusted && !clock_told_ && now.mono - started_mono_ >= kClockSetWithin) {
    clock_told_ = true;
    raise("",
          {now.wall, station::Severity::alert, "clock-not-set",
           "Since this machine started nobody has set its clock. Until then the usual course of "
           "the pH says nothing, rules with hours hold, the day's volume is given evenly, and "
           "nothing old is deleted. See to its time service, name its real-time clock in the "
           "config, or say that it is right: limegate trust-clock.",
           "clock-not-set"});
  }
}

/// What is missing of the plan since the last pulse.
std::string World::cost_of(const alerts::Record& alert) const {
  const Moment now = pace_.clock().now();
  for (const auto& shell : shells_) {
    if (shell->name() == alert.station) {
      return station::sentence_of(shell->core().status(now).missing);
    }
  }
  return {};
}

/// Told after ten minutes: a disk may be slow for a while, and what waits is written then.
void World::note_record(const std::optional<std::string>& fault) {
  const Moment now = pace_.clock().now();
  record_fails_since_ =
      fault ? std::optional{record_fails_since_.value_or(now.mono)} : std::nullopt;
  if (fault && !record_told_ && !ledger_fault_ &&
      now.mono - *record_fails_since_ >= kRecordWithin) {
    record_told_ = true;
    raise("", {now.wall, station::Severity::alert, "record-not-written",
               "Readings and events can't be recorded (" + *fault +
                   "). Dosing goes on: what is dosed stands in the ledger. But the past is not "
                   "shown, and a restart knows nothing of the last half hour. Look at the state "
                   "directory and its disk.",
               "record-not-written"});
  } else if (!fault && std::exchange(record_told_, false)) {
    raise("", {now.wall,
               station::Severity::info,
               "record-written",
               "Readings and events are recorded again.",
               {},
               "record-not-written"});
  }
}

void World::note_witness(JournalWorker::Witnessed witnessed) {
  const bool faulty = witnessed == JournalWorker::Witnessed::no;
  if (faulty == witness_faulty_) {
    return;
  }
  witness_faulty_ = faulty;
  const WallTime now = pace_.clock().now().wall;
  if (faulty) {
    raise("", {now, station::Severity::alert, "witness-not-writable",
               "What is known of the ledger outside its directory can't be written (witness_dir). "
               "Dosing goes on; but should the state directory be lost, put back or moved, nobody "
               "would notice. Make that directory writable for limegate.",
               "witness-not-writable"});
  } else {
    raise("", {now,
               station::Severity::info,
               "witness-written",
               "What is known of the ledger outside its directory is written again.",
               {},
               "witness-not-writable"});
  }
}

const station::KeepersBook* World::book(const std::string& station) const {
  for (const auto& shell : shells_) {
    if (shell->name() == station || (station.empty() && shells_.size() == 1)) {
      return &shell->core().book();
    }
  }
  return nullptr;
}

bool World::wants_quick_polls() const {
  return std::any_of(shells_.begin(), shells_.end(),
                     [](const auto& shell) { return shell->core().wants_quick_readings(); });
}

bool World::outlets_idle() const {
  return std::all_of(shells_.begin(), shells_.end(),
                     [](const auto& shell) { return shell->outstanding() == 0; });
}

bool World::any_bus_hangs() const {
  return std::any_of(lines_.begin(), lines_.end(),
                     [](const Line& line) { return line.bus->hangs(); });
}

bool World::end_overdue() const {
  const Instant now = pace_.clock().now().mono;
  for (std::size_t i = 0; i < shells_.size(); ++i) {
    const auto due = shells_[i]->core().off_due_since();
    if (due && now - *due >= kOffWithin &&
        std::any_of(outlet_buses_[i].begin(), outlet_buses_[i].end(),
                    [](const ports::Bus* bus) { return bus->hangs(); })) {
      return true;
    }
  }
  return false;
}

bool World::idle() const {
  return journal_.outstanding() == 0 && outlets_idle() &&
         std::none_of(lines_.begin(), lines_.end(),
                      [](const Line& line) { return line.outstanding; });
}

station::Overview World::overview() const {
  const Moment now = pace_.clock().now();
  station::Overview overview{now, started_, alerts_.shown(""), {}};
  overview.refused = events_.refused("");
  overview.last_event = events_.last("");
  for (const auto& shell : shells_) {
    overview.stations.push_back(shell->core().status(now));
    overview.stations.back().alerts = alerts_.shown(shell->name());
    overview.stations.back().refused = events_.refused(shell->name());
    overview.stations.back().last_event = events_.last(shell->name());
  }
  return overview;
}

}  // namespace limegate::app
