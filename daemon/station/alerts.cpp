#include "station/alerts.h"

#include <algorithm>
#include <iterator>

namespace limegate::station {

std::vector<Alert> unseen_of(const std::vector<Alert>& alerts) {
  std::vector<Alert> waiting;
  std::copy_if(alerts.begin(), alerts.end(), std::back_inserter(waiting),
               [](const Alert& alert) { return alert.until == Alert::Until::seen; });
  return waiting;
}

void Alerts::take(const Event& event) {
  const auto find = [&](std::string_view id) {
    return std::find_if(standing_.begin(), standing_.end(),
                        [&](const Alert& alert) { return alert.id == id; });
  };
  if (const auto ended = find(event.ends); !event.ends.empty() && ended != standing_.end()) {
    standing_.erase(ended);
  }
  if (event.severity != Severity::alert) {
    return;
  }
  const bool lasting = !event.begins.empty();
  const std::string& id = lasting ? event.begins : event.code;
  const auto until = lasting ? Alert::Until::over : Alert::Until::seen;
  if (const auto known = find(id); known != standing_.end()) {
    known->sentence = event.sentence;
    known->seen = Alert::Seen::no;
  } else {
    standing_.push_back({id, event.sentence, event.at, until, Alert::Seen::no});
  }
}

bool Alerts::acknowledge(std::string_view id) {
  const auto found = std::find_if(standing_.begin(), standing_.end(),
                                  [&](const Alert& alert) { return alert.id == id; });
  if (found == standing_.end()) {
    return false;
  }
  if (found->until == Alert::Until::seen) {
    standing_.erase(found);
  } else {
    found->seen = Alert::Seen::yes;
  }
  return true;
}

std::size_t Alerts::acknowledge_all() {
  std::size_t unseen = 0;
  for (Alert& alert : standing_) {
    unseen += alert.seen == Alert::Seen::no ? 1U : 0U;
    alert.seen = Alert::Seen::yes;
  }
  standing_.erase(
      std::remove_if(standing_.begin(), standing_.end(),
                     [](const Alert& alert) { return alert.until == Alert::Until::seen; }),
      standing_.end());
  return unseen;
}

}  // namespace limegate::station
