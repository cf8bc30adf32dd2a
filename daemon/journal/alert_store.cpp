#include "journal/alert_store.h"

#include "alerts/record_json.h"
#include "journal/alert_rows.h"
#include "journal/stored_row.h"
#include "journal/stored_units.h"

namespace limegate::journal {

Stored<AlertStore::Kept> AlertStore::read() const {
  Kept kept;
  const auto alerts = all_rows<AlertRow>(database_);
  if (!alerts) {
    return tl::unexpected(alerts.error());
  }
  for (const auto& [row, sound] : *alerts) {
    // What was damaged was dropped at the opening; a field of another version reads as none.
    if (auto record = sound ? alerts::record_of(row.record) : std::nullopt) {
      kept.records.push_back(*std::move(record));
    }
  }
  const auto statement = select<AlertMessageRow>(database_, " ORDER BY number");
  auto more = statement->next();
  for (; more && *more; more = statement->next()) {
    auto message = row_from<AlertMessageRow>(*statement);
    if (message.sound) {
      kept.messages.push_back(
          {{std::chrono::milliseconds{message.row.lifetime_ms}, wall_of(message.row.wall_ms)},
           std::move(message.row.event)});
    }
  }
  return more ? Stored<Kept>{std::move(kept)} : tl::unexpected(more.error());
}

Stored<void> AlertStore::write(const std::vector<alerts::Record>& records,
                               const std::vector<Message>& messages) const {
  auto done = database_.execute("DELETE FROM alerts");
  for (auto record = records.begin(); done && record != records.end(); ++record) {
    done = store(database_, AlertRow{record->station, record->id, alerts::json_of(*record)});
  }
  const auto newest = database_.number("SELECT coalesce(max(number), 0) FROM alert_messages");
  if (!newest) {
    return tl::unexpected(newest.error());
  }
  std::int64_t number = *newest;
  for (auto message = messages.begin(); done && message != messages.end(); ++message) {
    done = store(database_, AlertMessageRow{++number, ms(message->at.lifetime),
                                            ms(message->at.wall), message->event});
  }
  return done ? database_.execute(("DELETE FROM alert_messages WHERE number <= " +
                                   std::to_string(number - kMessagesKept))
                                      .c_str())
              : done;
}

Stored<void> AlertStore::keep(const std::vector<alerts::Record>& records,
                              const std::vector<Message>& messages) const {
  if (auto begun = database_.execute("BEGIN IMMEDIATE"); !begun) {
    return begun;
  }
  const auto written = write(records, messages);
  auto ended = database_.execute(written ? "COMMIT" : "ROLLBACK");
  if (!ended && written) {
    (void)database_.execute("ROLLBACK");
  }
  return written ? ended : written;
}

}  // namespace limegate::journal
