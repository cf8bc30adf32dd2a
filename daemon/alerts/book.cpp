#include "alerts/book.h"

#include <algorithm>
#include <cstdlib>
#include <tuple>
#include <utility>

#include "alerts/kind.h"

namespace limegate::alerts {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

/// Told at first, then after so long, then daily, until somebody has seen it.
constexpr Duration kAfterFirst = 1h, kAfterSecond = 5h, kDaily = 24h;
/// Seen from afar it is quiet for so long: an automation can't silence a starving tank.
constexpr Duration kQuietFromAfar = 24h;
/// A latched hold comes back whatever was said.
constexpr Duration kLatchedAgain = 72h;
/// What changes, or comes and goes, is told no more often.
constexpr Duration kChangeUrgent = 10min, kChange = 1h;
constexpr int kComesAndGoes = 2;
/// What comes again within this is the same alert.
constexpr Duration kSameAlert = 24h;
/// Nobody looked for so long: what is over is forgotten.
constexpr Duration kForgotten = 7 * 24h;

bool is_over(const Record& record, const When& now) {
  return record.over && elapsed(*record.over, now) >= kind_of(record.id).off_delay;
}

bool shelved(const Record& record, const When& now) {
  return record.shelf && elapsed(record.shelf->at, now) < record.shelf->lasting;
}

Duration until_told_again(int told) {
  return told == 1 ? kAfterFirst : told == 2 ? kAfterSecond : kDaily;
}

}  // namespace

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

Duration elapsed(const dosing::Stamp& since, const When& now) {
  const Duration observed = now.stamp.lifetime - since.lifetime;
  const Duration by_wall = now.wall_trusted
                               ? std::chrono::duration_cast<Duration>(now.stamp.wall - since.wall)
                               : Duration::zero();
  return std::max({observed, by_wall, Duration::zero()});
}

Record* Book::find(std::string_view station, std::string_view id) {
  const auto found = std::find_if(records_.begin(), records_.end(), [&](const Record& record) {
    return record.station == station && record.id == id;
  });
  return found == records_.end() ? nullptr : &*found;
}

void Book::know(std::vector<Record> kept, const When& now) {
  known_at_ = now.stamp;
  for (Record& record : kept) {
    if (Record* here = find(record.station, record.id)) {
      // Raised before the record could be read: the same alert, as it was kept; what waits to be
      // seen has happened another time.
      record.sentence = here->sentence;
      record.over = here->over;
      if (!here->lasting) {
        record.seen = here->seen;
        record.changed = record.told_at.has_value();
      }
      *here = std::move(record);
      continue;
    }
    if (record.stands() && record.lasting) {
      to_find_.push_back(record.number);
    }
    records_.push_back(std::move(record));
  }
  changed_ = true;
}

void Book::take(const std::string& station, const station::Event& event, const When& now) {
  if (!event.ends.empty()) {
    Record* record = find(station, event.ends);
    if (record != nullptr && record->stands()) {
      record->over = now.stamp;
      changed_ = true;
    }
  }
  if (event.severity == station::Severity::alert) {
    raise(station, event, now);
  }
}

void Book::raise(const std::string& station, const station::Event& event, const When& now) {
  const bool lasting = !event.begins.empty();
  const std::string& id = lasting ? event.begins : event.code;
  const bool latched = event.code == "held-" + id;
  changed_ = true;
  Record* known = find(station, id);
  if (known == nullptr) {
    Record fresh;
    fresh.station = station;
    fresh.id = id;
    fresh.number = new_number_();
    fresh.sentence = event.sentence;
    fresh.raised = now.stamp;
    fresh.lasting = lasting;
    fresh.latched = latched;
    records_.push_back(std::move(fresh));
    return;
  }
  // What an earlier run left, and this one found again, is no news.
  const auto waits = std::find(to_find_.begin(), to_find_.end(), known->number);
  const bool found_again = waits != to_find_.end();
  if (found_again) {
    to_find_.erase(waits);
  }
  const bool came_back = !known->stands();
  if (came_back || (!found_again && known->sentence != event.sentence)) {
    // What was seen from afar stays quiet for its day: something that flaps changes all the time.
    // What waits to be seen has happened another time.
    if (known->seen &&
        (known->seen->origin == station::Origin::station || (came_back && !lasting))) {
      known->seen.reset();
      known->told = 0;
    }
    known->changed = known->told_at.has_value() && (!came_back || known->return_told);
    known->came += came_back ? 1 : 0;
    known->return_told = false;
  }
  if (came_back && is_over(*known, now)) {
    known->raised = now.stamp;
  }
  known->over.reset();
  known->sentence = event.sentence;
  known->lasting = lasting;
  known->latched = latched || (known->latched && !came_back);
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
    if (!record.lasting && record.stands()) {
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

void Book::tick(const When& now) {
  for (Record& record : records_) {
    const auto waits = std::find(to_find_.begin(), to_find_.end(), record.number);
    if (waits != to_find_.end() && known_at_ &&
        elapsed(*known_at_, now) >= kind_of(record.id).found_again_within) {
      to_find_.erase(waits);
      record.over = now.stamp;
      changed_ = true;
    }
    if (record.shelf && !shelved(record, now)) {
      record.shelf.reset();
      changed_ = true;
    }
    if (record.seen && record.seen->origin != station::Origin::station && record.stands() &&
        elapsed(record.seen->at, now) >= kQuietFromAfar) {
      record.seen.reset();
      changed_ = true;
    }
  }
  const auto gone = [&](const Record& record) {
    if (!record.told_at) {
      return !record.stands();  // nobody heard of it: nothing is to be taken back
    }
    return is_over(record, now) &&
           elapsed(*record.over, now) >= (record.seen ? kSameAlert : kForgotten);
  };
  const auto kept = std::remove_if(records_.begin(), records_.end(), gone);
  changed_ = changed_ || kept != records_.end();
  records_.erase(kept, records_.end());
}

bool Book::explained(const Record& record) const {
  return std::any_of(records_.begin(), records_.end(), [&](const Record& cause) {
    return cause.stands() && cause.station == record.station && explains(cause.id, record.id);
  });
}

std::vector<const Record*> Book::explained_by(const Record& cause) const {
  std::vector<const Record*> all;
  for (const Record& record : records_) {
    if (record.stands() && cause.stands() && cause.station == record.station &&
        explains(cause.id, record.id)) {
      all.push_back(&record);
    }
  }
  return all;
}

bool Book::is_due(const Record& record, const When& now) const {
  const Kind& kind = kind_of(record.id);
  if (is_over(record, now)) {
    // What comes and goes is told as over once it has been for a while.
    const bool settled = record.came <= kComesAndGoes || elapsed(*record.over, now) >= kChange;
    return record.told_at && !record.return_told && !record.seen && settled;
  }
  if (!record.stands() || elapsed(record.raised, now) < kind.on_delay) {
    return false;
  }
  const Duration quiet = record.told_at ? elapsed(*record.told_at, now) : Duration::max();
  if (record.latched && record.told_at && quiet >= kLatchedAgain) {
    return true;
  }
  if (shelved(record, now) || record.seen) {
    return false;
  }
  if (!record.told_at) {
    return !explained(record);
  }
  const Duration change = kind.urgency == Urgency::act_now ? kChangeUrgent : kChange;
  const Duration needed =
      record.changed || record.told == 0 ? change : until_told_again(record.told);
  return quiet >= needed && !explained(record);
}

std::vector<const Record*> Book::due(const When& now) const {
  std::vector<const Record*> due;
  for (const Record& record : records_) {
    if (is_due(record, now)) {
      due.push_back(&record);
    }
  }
  // What stands before what is over, the urgent first, and of those the oldest: it may be the
  // cause.
  std::stable_sort(due.begin(), due.end(), [](const Record* a, const Record* b) {
    const auto rank = [](const Record& one) {
      return std::make_tuple(!one.stands(), kind_of(one.id).urgency, one.raised.lifetime);
    };
    return rank(*a) < rank(*b);
  });
  return due;
}

void Book::told(const std::vector<std::string>& numbers, const When& now) {
  for (Record& record : records_) {
    if (std::find(numbers.begin(), numbers.end(), record.number) == numbers.end()) {
      continue;
    }
    changed_ = true;
    if (!record.stands()) {
      record.return_told = true;
      continue;
    }
    ++record.told;
    record.told_at = now.stamp;
    record.changed = false;
  }
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
