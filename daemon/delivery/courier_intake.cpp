// What messages come into the queue, and for which ways.

#include <algorithm>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "delivery/courier.h"

namespace limegate::delivery {

void Courier::take(const std::string& event, Moment now) {
  const auto envelope = envelope_of(event);
  if (!envelope) {
    parts_.log("A message that is none of ours was left out.", false);
    return;
  }
  std::vector<std::string> names;
  for (const Way& way : ways_) {
    if (envelope->for_everyone || envelope->urgency <= way.destination.least) {
      names.push_back(way.destination.name);
    }
  }
  note_added(parts_.queue.add(envelope->id, event, names, now.wall));
}

/// Of what came before an empty queue only the newest word on each alert that nobody has seen is
/// brought, and what was asked for: the queue may have been lost, and people know the rest.
void Courier::take_all(const Parts::News& news, Moment now) {
  const bool of_before = !std::exchange(caught_up_, true) && newest_.empty();
  std::set<std::string> covered, old;
  for (auto event = news.events.rbegin(); of_before && event != news.events.rend(); ++event) {
    const auto envelope = envelope_of(*event);
    const bool wanted =
        !envelope || envelope->for_everyone ||
        std::count_if(envelope->numbers.begin(), envelope->numbers.end(),
                      [&](const std::string& number) {
                        return news.unseen.contains(number) && covered.insert(number).second;
                      }) > 0;
    if (!wanted) {
      old.insert(envelope->id);
    }
  }
  for (const std::string& event : news.events) {
    const auto envelope = envelope_of(event);
    if (envelope && old.contains(envelope->id)) {
      note_added(parts_.queue.add(envelope->id, event, {}, now.wall));
    } else {
      take(event, now);
    }
  }
  if (!queue_faulty_ && !news.events.empty()) {
    newest_ = envelope_of(news.events.back()).value_or(Envelope{}).id;
  }
}

}  // namespace limegate::delivery
