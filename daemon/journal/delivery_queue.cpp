#include "journal/delivery_queue.h"

#include <algorithm>
#include <chrono>
#include <cstdio>
#include <utility>

#include "alerts/record_json.h"

namespace limegate::journal {
namespace {

constexpr const char* kTables = R"(
CREATE TABLE IF NOT EXISTS messages(number INTEGER PRIMARY KEY, id TEXT UNIQUE, came_ms INTEGER,
  event TEXT);
CREATE TABLE IF NOT EXISTS ways(number INTEGER, destination TEXT, state INTEGER, attempts INTEGER,
  sentence TEXT, PRIMARY KEY(number, destination)) WITHOUT ROWID;
CREATE INDEX IF NOT EXISTS waiting ON ways(destination, number) WHERE state = 0;
CREATE TABLE IF NOT EXISTS own(number INTEGER PRIMARY KEY, record TEXT))";

std::int64_t ms(WallTime at) {
  return std::chrono::duration_cast<std::chrono::milliseconds>(at.time_since_epoch()).count();
}

const char* word_of(std::int64_t state) {
  switch (state) {
    case 0:
      return "waits";
    case static_cast<int>(DeliveryQueue::End::delivered):
      return "delivered";
    case static_cast<int>(DeliveryQueue::End::not_needed):
      return "not needed";
    default:
      return "given up";
  }
}

/// All or none of it.
template <class Work>
Stored<void> at_once(const Database& database, Work work) {
  if (auto begun = database.execute("BEGIN IMMEDIATE"); !begun) {
    return begun;
  }
  Stored<void> done = work();
  auto ended = database.execute(done ? "COMMIT" : "ROLLBACK");
  if (!ended && done) {
    (void)database.execute("ROLLBACK");
  }
  return done ? ended : done;
}

}  // namespace

Stored<DeliveryQueue> DeliveryQueue::open(const std::string& path) {
  const auto attempt = [&]() -> Stored<DeliveryQueue> {
    auto database = Database::open(path, Creating::yes, Sync::full);
    if (!database) {
      return tl::unexpected(database.error());
    }
    if (auto sound = database->check(); !sound) {
      return tl::unexpected(sound.error());
    }
    if (auto made = database->execute(kTables); !made) {
      return tl::unexpected(made.error());
    }
    return DeliveryQueue{std::move(*database)};
  };
  auto opened = attempt();
  if (opened || opened.error().fault != StorageFault::damaged) {
    return opened;
  }
  for (const char* part : {"", "-wal", "-shm"}) {
    (void)std::rename((path + part).c_str(), (path + part + ".damaged").c_str());
  }
  return attempt();
}

Stored<bool> DeliveryQueue::write(const std::string& id, const std::string& event,
                                  const std::vector<std::string>& destinations,
                                  WallTime now) const {
  const auto known = database_.prepare("SELECT 1 FROM messages WHERE id = ?1");
  known->bind(id);
  const auto row = known->next();
  if (!row || *row) {
    return row ? Stored<bool>{false} : tl::unexpected(row.error());
  }
  const auto done = at_once(database_, [&]() -> Stored<void> {
    if (auto added = database_.prepare("INSERT INTO messages(id, came_ms, event) VALUES(?1,?2,?3)")
                         ->bind(id, ms(now), event)
                         .run();
        !added) {
      return added;
    }
    const auto number = database_.number("SELECT max(number) FROM messages");
    if (!number) {
      return tl::unexpected(number.error());
    }
    Stored<void> added;
    for (auto one = destinations.begin(); added && one != destinations.end(); ++one) {
      added =
          database_.prepare("INSERT INTO ways VALUES(?1, ?2, 0, 0, '')")->bind(*number, *one).run();
      added = added ? database_
                          .prepare(
                              "UPDATE ways SET state = 3, sentence = 'too many waited' WHERE "
                              "state = 0 AND destination = ?1 AND number <= (SELECT number "
                              "FROM ways WHERE state = 0 AND destination = ?1 ORDER BY number "
                              "DESC LIMIT 1 OFFSET ?2)")
                          ->bind(*one, kWaitingMax)
                          .run()
                    : added;
    }
    return added;
  });
  return done ? Stored<bool>{true} : tl::unexpected(done.error());
}

Stored<bool> DeliveryQueue::add(const std::string& id, const std::string& event,
                                const std::vector<std::string>& destinations, WallTime now) {
  const auto known = std::find_if(unwritten_.begin(), unwritten_.end(),
                                  [&](const Unwritten& one) { return one.what.id == id; });
  auto written =
      known == unwritten_.end() ? write(id, event, destinations, now) : Stored<bool>{false};
  if (!written) {
    unwritten_.push_back({{0, id, event, now}, destinations});
    if (unwritten_.size() > static_cast<std::size_t>(kWaitingMax)) {
      unwritten_.pop_front();
    }
  }
  return written;
}

Stored<void> DeliveryQueue::settle() {
  while (!unwritten_.empty()) {
    const Unwritten& one = unwritten_.front();
    if (auto done = write(one.what.id, one.what.event, one.destinations, one.what.came); !done) {
      return tl::unexpected(done.error());
    }
    unwritten_.pop_front();
  }
  while (!ended_.empty()) {
    if (auto done = write(ended_.front()); !done) {
      return done;
    }
    ended_.pop_front();
  }
  return {};
}

bool DeliveryQueue::is_ended(const std::string& id, const std::string& destination) const {
  return std::any_of(ended_.begin(), ended_.end(), [&](const Outcome& one) {
    return one.what.id == id && one.destination == destination;
  });
}

std::optional<DeliveryQueue::Waiting> DeliveryQueue::next(const std::string& destination) const {
  const auto row = database_.prepare(
      "SELECT ways.number, id, event, came_ms, attempts FROM ways JOIN messages USING(number) "
      "WHERE state = 0 AND destination = ?1 ORDER BY ways.number");
  row->bind(destination);
  // A disk that can't be read either has nothing to say: the daemon says it again.
  for (auto more = row->next(); more && *more; more = row->next()) {
    Waiting waiting{row->integer(0), row->text(1), row->text(2),
                    WallTime{std::chrono::milliseconds{row->integer(3)}},
                    static_cast<int>(row->integer(4))};
    if (ended_.empty() || !is_ended(waiting.id, destination)) {
      return waiting;
    }
  }
  for (const Unwritten& one : unwritten_) {
    const bool meant = std::find(one.destinations.begin(), one.destinations.end(), destination) !=
                       one.destinations.end();
    if (meant && !is_ended(one.what.id, destination)) {
      return one.what;
    }
  }
  return std::nullopt;
}

bool DeliveryQueue::has_delivered(const std::string& destination, const std::string& text) const {
  const bool in_memory = std::any_of(ended_.begin(), ended_.end(), [&](const Outcome& one) {
    return one.destination == destination && one.end == End::delivered &&
           one.what.event.find(text) != std::string::npos;
  });
  if (in_memory) {
    return true;
  }
  const auto row = database_.prepare(
      "SELECT 1 FROM ways JOIN messages USING(number) WHERE destination = ?1 AND state = ?2 AND "
      "instr(event, ?3) > 0 LIMIT 1");
  row->bind(destination, static_cast<std::int64_t>(End::delivered), text);
  const auto found = row->next();
  return found && *found;
}

Stored<std::int64_t> DeliveryQueue::count_waiting(const std::string& destination) const {
  const auto row =
      database_.prepare("SELECT count(*) FROM ways WHERE state = 0 AND destination = ?1");
  row->bind(destination);
  const auto found = row->next();
  return found ? Stored<std::int64_t>{row->integer(0)} : tl::unexpected(found.error());
}

Stored<void> DeliveryQueue::note_attempt(const Waiting& what, const std::string& destination,
                                         const std::string& sentence) {
  for (Unwritten& one : unwritten_) {
    one.what.attempts += one.what.id == what.id ? 1 : 0;
  }
  return database_
      .prepare(
          "UPDATE ways SET attempts = attempts + 1, sentence = ?3 WHERE number = ?1 AND "
          "destination = ?2")
      ->bind(what.number, destination, sentence)
      .run();
}

Stored<void> DeliveryQueue::write(const Outcome& outcome) const {
  // By its id: what was in memory only has its number since.
  return database_
      .prepare(
          "UPDATE ways SET state = ?3, attempts = attempts + 1, sentence = ?4 WHERE destination = "
          "?2 AND number = (SELECT number FROM messages WHERE id = ?1)")
      ->bind(outcome.what.id, outcome.destination, static_cast<std::int64_t>(outcome.end),
             outcome.sentence)
      .run();
}

Stored<void> DeliveryQueue::end(const Waiting& what, const std::string& destination, End end,
                                const std::string& sentence) {
  const Outcome outcome{what, destination, sentence, end};
  const bool in_memory = std::any_of(unwritten_.begin(), unwritten_.end(),
                                     [&](const Unwritten& one) { return one.what.id == what.id; });
  auto written = write(outcome);
  if (in_memory || !written) {
    ended_.push_back(outcome);
  }
  return written;
}

Stored<void> DeliveryQueue::keep_only(const std::vector<std::string>& destinations) {
  std::string names;
  for (const std::string& name : destinations) {
    names += (names.empty() ? "'" : ",'") + name + "'";  // a-z, 0-9 and '-': the config sees to it
  }
  return database_.execute(("UPDATE ways SET state = 3, sentence = 'no longer configured' WHERE "
                            "state = 0 AND destination NOT IN (" +
                            names + ")")
                               .c_str());
}

Stored<void> DeliveryQueue::forget_before(WallTime time) {
  return at_once(database_, [&]() -> Stored<void> {
    auto done = database_
                    .prepare(
                        "DELETE FROM messages WHERE came_ms < ?1 AND number <= (SELECT "
                        "max(number) FROM messages) - 1000 AND NOT EXISTS (SELECT 1 "
                        "FROM ways WHERE ways.number = messages.number AND state = 0)")
                    ->bind(ms(time))
                    .run();
    return done ? database_.execute(
                      "DELETE FROM ways WHERE number NOT IN (SELECT number FROM messages)")
                : done;
  });
}

std::vector<std::string> DeliveryQueue::outcome_of(const std::string& path, const std::string& id) {
  std::vector<std::string> lines;
  const auto database = Database::open(path, Creating::no, Sync::normal);
  if (!database) {
    return lines;
  }
  const auto row = database->prepare(
      "SELECT destination, state, sentence FROM ways JOIN messages USING(number) WHERE id = ?1 "
      "ORDER BY destination");
  row->bind(id);
  for (auto more = row->next(); more && *more; more = row->next()) {
    lines.push_back(row->text(0) + ": " + word_of(row->integer(1)) +
                    (row->text(2).empty() ? "" : ", " + row->text(2)));
  }
  return lines;
}

Stored<void> DeliveryQueue::keep(const std::vector<alerts::Record>& own) {
  return at_once(database_, [&]() -> Stored<void> {
    auto done = database_.execute("DELETE FROM own");
    for (auto one = own.begin(); done && one != own.end(); ++one) {
      done = database_.prepare("INSERT INTO own(record) VALUES(?1)")
                 ->bind(alerts::json_of(*one))
                 .run();
    }
    return done;
  });
}

Stored<std::vector<alerts::Record>> DeliveryQueue::own() const {
  std::vector<alerts::Record> records;
  const auto row = database_.prepare("SELECT record FROM own ORDER BY number");
  auto more = row->next();
  for (; more && *more; more = row->next()) {
    if (auto record = alerts::record_of(row->text(0))) {
      records.push_back(*std::move(record));
    }
  }
  return more ? Stored<std::vector<alerts::Record>>{std::move(records)}
              : tl::unexpected(more.error());
}

Stored<std::string> DeliveryQueue::newest_id() const {
  const auto row = database_.prepare("SELECT id FROM messages ORDER BY number DESC LIMIT 1");
  const auto found = row->next();
  return found ? Stored<std::string>{*found ? row->text(0) : std::string{}}
               : tl::unexpected(found.error());
}

}  // namespace limegate::journal
