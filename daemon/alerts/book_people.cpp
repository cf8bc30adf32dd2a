// What people say of alerts, and what they are shown.

#include <chrono>
#include <cstdlib>
#include <utility>

#include "alerts/book.h"
#include "alerts/kind.h"

namespace limegate::alerts {

const char* name_of(State state) {
  switch (state) {
    case State::unacknowledged:
      return "unacknowledged";
    case State::acknowledged:
      return "acknowledged";
    case State::returned_unacknowledged:
      return "returned-unacknowledged";
    case State::shelved:
      return "shelved";
  }
  std::abort();
}

std::size_t Book::acknowledge(std::string_view station, std::string_view id,
                              const Record::Seen& seen) {
  std::size_t count = 0;
  for (Record& record : records_) {
    if (record.station != station || (!id.empty() && record.id != id) ||
        (record.seen && !record.stands())) {
      continue;
    }
    // What is said at the station is not taken back from afar, and only what nobody had seen counts
    // where all are meant.
    const bool known_better = record.seen && record.seen->origin == station::Origin::station &&
                              seen.origin != station::Origin::station;
    count += id.empty() && record.seen ? 0U : 1U;
    // Nor does one that is sent again and again make its day longer.
    const bool again = record.seen && record.seen->origin == seen.origin;
    if (!known_better && !again) {
      record.seen = seen;
    }
    record.changed = false;
    // Quicker than the message, from afar, it is a program: people hear of it all the same.
    const bool untold = record.told == 0 && seen.origin != station::Origin::station;
    if (!record.lasting && record.stands() && !untold) {
      record.over = seen.at;
      record.return_told = true;
    }
    changed_ = true;
  }
  return count;
}

std::string Book::shelve(std::string_view station, std::string_view id,
                         const Record::Shelf& shelf) {
  Record* record = find(station, id);
  if (record == nullptr || !record->stands()) {
    return "There is no alert '" + std::string{id} + "' that stands.";
  }
  if (!(shelf.lasting > Duration::zero()) || shelf.lasting > kShelfMax) {
    return "A shelf lasts for a time, 7 days at most: --for 2h.";
  }
  if (shelf.why.empty()) {
    return "Say why: --because \"the heater is being replaced\".";
  }
  record->shelf = shelf;
  changed_ = true;
  return {};
}

State Book::state_of(const Record& record) {
  if (!record.stands()) {
    return State::returned_unacknowledged;
  }
  if (record.shelf) {
    return State::shelved;
  }
  return record.seen ? State::acknowledged : State::unacknowledged;
}

std::vector<station::Alert> Book::shown(std::string_view station) const {
  std::vector<station::Alert> all;
  for (const Record& record : records_) {
    if (record.station != station || (!record.stands() && record.seen)) {
      continue;
    }
    const Kind& kind = kind_of(record.id);
    station::Alert alert;
    alert.id = record.id;
    alert.number = record.number;
    alert.sentence = record.sentence;
    alert.since = record.raised.wall;
    alert.state = name_of(state_of(record));
    alert.urgency = name_of(kind.urgency);
    alert.latched = record.latched;
    alert.consequence = kind.consequence;
    alert.action = kind.action;
    alert.seen = record.seen ? station::Alert::Seen::yes : station::Alert::Seen::no;
    if (record.shelf) {
      alert.shelved_by = record.shelf->who;
      alert.shelved_because = record.shelf->why;
      alert.shelved_until = record.shelf->at.wall +
                            std::chrono::duration_cast<WallTime::duration>(record.shelf->lasting);
    }
    all.push_back(std::move(alert));
  }
  return all;
}

}  // namespace limegate::alerts
