#include "app/alert_desk.h"

#include <algorithm>
#include <chrono>
#include <utility>

#include <boost/uuid/random_generator.hpp>
#include <boost/uuid/uuid_io.hpp>

#include "alerts/cloud_event.h"
#include "rules/for_people.h"

namespace limegate::app {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using Verdict = station::Answer::Verdict;

/// After a write that failed.
constexpr Duration kTryAgain = 15s;
/// What flaps is written no more often, so that an SD card lives; what somebody said, what is to be
/// told, and messages, at once.
constexpr Duration kKeepEvery = 30s;
/// Nobody waits longer for a disk to hear of it.
constexpr Duration kDiskHangs = 10s;

/// Of the machine's own randomness: unique over restarts and lost ledgers.
std::string new_id() { return boost::uuids::to_string(boost::uuids::random_generator()()); }

}  // namespace

AlertDesk::AlertDesk(Parts parts)
    : parts_(std::move(parts)), book_(new_id), teller_({new_id, parts_.cost}) {}

alerts::When AlertDesk::now() const {
  const Moment now = parts_.clock.now();
  return {{now.mono.time_since_epoch() + lifetime_before_boot_, now.wall}, now.wall_trusted};
}

void AlertDesk::know(const journal::AlertStore::Kept& kept, Duration lifetime_before_boot) {
  if (std::exchange(known_, true)) {
    return;  // read again after a fault: this run knows better what it has told
  }
  lifetime_before_boot_ = lifetime_before_boot;
  book_.know(kept.records, now());
  std::vector<dosing::Stamp> sent;
  for (const journal::AlertStore::Message& message : kept.messages) {
    sent.push_back(message.at);
    messages_.push_back(message.event);
  }
  teller_.know(sent, now());
}

void AlertDesk::take(const std::string& station, const station::Event& event) {
  book_.take(station, event, now());
}

void AlertDesk::add(const alerts::Message& message) {
  to_keep_.push_back({now().stamp, alerts::cloud_event(message, parts_.source)});
}

void AlertDesk::give_out(const std::vector<journal::AlertStore::Message>& messages) {
  for (const journal::AlertStore::Message& message : messages) {
    if (messages_.size() == static_cast<std::size_t>(journal::AlertStore::kMessagesKept)) {
      messages_.pop_front();
    }
    messages_.push_back(message.event);
    parts_.give_out(message.event);
  }
}

void AlertDesk::tick() {
  if (const auto message = teller_.tick(book_, now())) {
    add(*message);
  }
  urgent_ = book_.take_owed() || urgent_;
  keep();
}

/// What could not be written yet goes with the next attempt; people are told meanwhile.
void AlertDesk::keep() {
  const Instant mono = parts_.clock.now().mono;
  if (keeping_since_ && mono - *keeping_since_ >= kDiskHangs) {
    give_out(std::exchange(under_way_, {}));
    give_out(to_keep_);
    given_unkept_.insert(given_unkept_.end(), to_keep_.begin(), to_keep_.end());
    to_keep_.clear();
  }
  if (keeping_since_ || (next_try_ && mono < *next_try_ && !urgent_ && to_keep_.empty())) {
    return;
  }
  const bool changed = book_.take_changed();
  if (!changed && to_keep_.empty() && given_unkept_.empty()) {
    return;
  }
  keeping_since_ = mono;
  urgent_ = false;
  under_way_ = std::exchange(to_keep_, {});
  std::vector<journal::AlertStore::Message> all = std::exchange(given_unkept_, {});
  all.insert(all.end(), under_way_.begin(), under_way_.end());
  parts_.journal.ledger(
      [records = book_.records(), all](journal::Ledger& ledger) {
        return ledger.alerts().keep(records, all);
      },
      [this, all](const journal::Stored<void>& done) {
        keeping_since_.reset();
        give_out(std::exchange(under_way_, {}));
        if (done) {
          next_try_ = parts_.clock.now().mono + kKeepEvery;
          return;
        }
        given_unkept_.insert(given_unkept_.begin(), all.begin(), all.end());
        if (given_unkept_.size() > journal::AlertStore::kMessagesKept) {
          given_unkept_.erase(given_unkept_.begin(),
                              given_unkept_.end() - journal::AlertStore::kMessagesKept);
        }
        book_.not_kept();
        next_try_ = parts_.clock.now().mono + kTryAgain;
        parts_.ledger_failed(done.error().text());
      });
}

station::Answer AlertDesk::obey(const std::string& station, const alerts::Command& command,
                                const alerts::Record::Seen& by) {
  alerts::Record::Seen seen = by;
  seen.at = now().stamp;
  urgent_ = true;
  // At the station the daemon's own alerts are listed beside the station's, and meant with them.
  const bool own_too = by.origin == station::Origin::station && !station.empty();
  if (const auto* shelve = std::get_if<alerts::Shelve>(&command)) {
    if (by.origin != station::Origin::station) {
      return {Verdict::refused, "An alert is shelved at the station only."};
    }
    const alerts::Record::Shelf shelf{seen.at, shelve->lasting, seen.who, shelve->why};
    std::string why_not = book_.shelve(station, shelve->alert, shelf);
    if (!why_not.empty() && own_too && book_.shelve("", shelve->alert, shelf).empty()) {
      why_not.clear();
    }
    return why_not.empty() ? station::Answer{Verdict::accepted,
                                             "Quiet for " + rules::for_people(shelve->lasting) +
                                                 ": " + shelve->alert + ". It releases nothing."}
                           : station::Answer{Verdict::refused, why_not};
  }
  const std::string& id = std::get<alerts::Acknowledge>(command).alert;
  std::size_t count = book_.acknowledge(station, id, seen);
  if (own_too) {
    count += book_.acknowledge("", id, seen);
  }
  if (count == 0) {
    return {Verdict::refused, id.empty() ? "There is no alert that nobody has seen."
                                         : "There is no alert '" + id + "'."};
  }
  const std::string quiet =
      by.origin == station::Origin::station ? "" : " Said from afar it is quiet for 24 h.";
  return {Verdict::accepted, id.empty() ? "Seen: " + std::to_string(count) +
                                              (count == 1 ? " alert." : " alerts.") +
                                              " It releases nothing." + quiet
                                        : "Seen: " + id + ". It releases nothing." + quiet};
}

std::vector<std::string> AlertDesk::messages_after(const std::string& id) const {
  // Ids are random and of one length, and stand once in each.
  const auto known = std::find_if(messages_.rbegin(), messages_.rend(), [&](const auto& event) {
    return !id.empty() && event.find("\"id\":\"" + id + '"') != std::string::npos;
  });
  return known == messages_.rend() ? std::vector<std::string>{messages_.begin(), messages_.end()}
                                   : std::vector<std::string>{known.base(), messages_.end()};
}

std::string AlertDesk::test() {
  const alerts::Message message = teller_.test(now());
  add(message);
  return message.id;
}

std::size_t AlertDesk::standing() const {
  const std::vector<alerts::Record>& all = book_.records();
  return static_cast<std::size_t>(std::count_if(
      all.begin(), all.end(), [](const alerts::Record& record) { return record.stands(); }));
}

std::vector<std::string> AlertDesk::unseen() const {
  std::vector<std::string> numbers;
  for (const alerts::Record& record : book_.records()) {
    if (record.stands() && !record.seen && !record.shelf) {
      numbers.push_back(record.number);
    }
  }
  return numbers;
}

}  // namespace limegate::app
