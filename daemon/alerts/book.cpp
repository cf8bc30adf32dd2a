#include "alerts/book.h"

#include <algorithm>
#include <tuple>
#include <utility>

#include "alerts/kind.h"

namespace limegate::alerts {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

/// Told at first, then after so long, then daily, until somebody has seen it.
constexpr Duration kAfterFirst = 1h, kAfterSecond = 5h, kDaily = 24h;
/// Seen from afar it is quiet for so long, and then told before it can be seen again: an automation
/// can't silence a starving tank.
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

/// Whether people hear of it themselves, or did within a day: what is quiet for longer must not
/// keep others quiet. A latched hold always comes back.
bool is_heard_of(const Record& record, const When& now) {
  const bool long_seen = record.seen && record.seen->origin == station::Origin::station &&
                         elapsed(record.seen->at, now) >= kDaily;
  const bool long_shelved = shelved(record, now) && elapsed(record.shelf->at, now) >= kDaily;
  return record.latched || (!long_seen && !long_shelved);
}

/// Nothing that was kept lies ahead: of a life that counts from another start it is unknown how
/// long ago it was, so it counts from here on.
void bring_back(Record& record, const dosing::Stamp& now) {
  const auto bound = [&](dosing::Stamp& stamp) {
    stamp.lifetime = std::min(stamp.lifetime, now.lifetime);
  };
  bound(record.raised);
  if (record.over) {
    bound(*record.over);
  }
  if (record.told_at) {
    bound(*record.told_at);
  }
  if (record.seen) {
    bound(record.seen->at);
  }
  if (record.shelf) {
    bound(record.shelf->at);
  }
}

Duration until_told_again(int told) {
  return told == 1 ? kAfterFirst : told == 2 ? kAfterSecond : kDaily;
}

}  // namespace

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
    bring_back(record, now.stamp);
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

void Book::tick(const When& now) {
  for (Record& record : records_) {
    const auto waits = std::find(to_find_.begin(), to_find_.end(), record.number);
    // Only what was watched counts: a clock that is set after the start found nothing.
    if (waits != to_find_.end() && known_at_ &&
        now.stamp.lifetime - known_at_->lifetime >= kind_of(record.id).found_again_within) {
      to_find_.erase(waits);
      record.over = now.stamp;
      changed_ = true;
    }
    // What comes again after it was over is another matter than the one that was shelved.
    if (record.shelf && (!shelved(record, now) || is_over(record, now))) {
      record.shelf.reset();
      changed_ = true;
    }
  }
  for (Record& record : records_) {
    if (!record.told_at && !record.owed && is_due(record, now)) {
      record.owed = changed_ = owed_ = true;
    }
  }
  const auto gone = [&](const Record& record) {
    if (!record.told_at && (!record.owed || record.seen)) {
      return !record.stands();  // nobody heard of it: nothing is to be taken back
    }
    return is_over(record, now) &&
           elapsed(*record.over, now) >= (record.seen ? kSameAlert : kForgotten);
  };
  const auto kept = std::remove_if(records_.begin(), records_.end(), gone);
  changed_ = changed_ || kept != records_.end();
  records_.erase(kept, records_.end());
}

bool Book::explained(const Record& record, const When& now) const {
  return std::any_of(records_.begin(), records_.end(), [&](const Record& cause) {
    return cause.stands() && cause.station == record.station && explains(cause.id, record.id) &&
           is_heard_of(cause, now);
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
    const bool awaited = record.told_at || (record.owed && !explained(record, now));
    return awaited && !record.return_told && !record.seen && settled;
  }
  if (!record.stands() || elapsed(record.raised, now) < kind.on_delay) {
    return false;
  }
  const Duration quiet = record.told_at ? elapsed(*record.told_at, now) : Duration::max();
  if (record.latched && record.told_at && quiet >= kLatchedAgain) {
    return true;
  }
  if (shelved(record, now) || (record.seen && record.seen->origin == station::Origin::station)) {
    return false;
  }
  if (!record.told_at) {
    return !explained(record, now);
  }
  if (record.seen && record.told > 0) {
    return elapsed(record.seen->at, now) >= kQuietFromAfar && !explained(record, now);
  }
  const Duration change = kind.urgency == Urgency::act_now ? kChangeUrgent : kChange;
  const Duration needed =
      record.changed || record.told == 0 ? change : until_told_again(record.told);
  return quiet >= needed && !explained(record, now);
}

std::vector<const Record*> Book::due(const When& now) const {
  std::vector<const Record*> due;
  for (const Record& record : records_) {
    if (is_due(record, now)) {
      due.push_back(&record);
    }
  }
  // What can't wait, then what is news, so that nothing that is said again keeps it back. Of those
  // what stands before what is over, the urgent first, and the oldest: it may be the cause.
  std::stable_sort(due.begin(), due.end(), [](const Record* a, const Record* b) {
    const auto rank = [](const Record& one) {
      const Urgency urgency = kind_of(one.id).urgency;
      return std::make_tuple(!one.stands() || urgency != Urgency::act_now, one.told_at.has_value(),
                             !one.stands(), urgency, one.raised.lifetime);
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
    record.owed = false;
    if (!record.stands()) {
      record.return_told = true;
      record.told_at = record.told_at.value_or(now.stamp);
      continue;
    }
    for (const Record* follows : explained_by(record)) {
      find(follows->station, follows->id)->owed = false;  // it was named with its cause
    }
    const bool at_first = record.told == 0;
    ++record.told;
    record.told_at = now.stamp;
    record.changed = false;
    if (!record.seen || record.seen->origin == station::Origin::station) {
      continue;
    }
    if (!record.lasting) {
      record.over = now.stamp;  // it was seen before it could be told
      record.return_told = true;
    } else if (!at_first) {
      record.seen.reset();  // its day is over
    }
  }
}

}  // namespace limegate::alerts
