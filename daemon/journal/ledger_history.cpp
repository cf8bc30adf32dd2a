// What the ledger says at a start.

#include <algorithm>
#include <chrono>

#include "journal/book_store.h"
#include "journal/learned_rows.h"
#include "journal/ledger.h"
#include "journal/ledger_rows.h"
#include "journal/stored_row.h"
#include "journal/stored_units.h"

namespace limegate::journal {
namespace {

int days_of(std::int64_t days) {
  return static_cast<int>(std::clamp<std::int64_t>(days, -1, 1000));
}

/// Calls `take` with each of the station's rows.
template <class Row, class Take>
Stored<void> each(const Database& database, std::string_view station, const std::string& rest,
                  Take take) {
  const auto rows = select<Row>(database, " WHERE station = ?1" + rest);
  rows->bind(station);
  auto more = rows->next();
  for (; more && *more; more = rows->next()) {
    take(row_from<Row>(*rows).row);
  }
  return more ? Stored<void>{} : tl::unexpected(more.error());
}

/// Rows of the past that a start reads at most for one sum: 90 days at 600 pulses a day, twice.
constexpr int kPastRowsMax = 108'000;

/// Also of rows that are in the past, which nothing else reads at a start: no dose hangs on this
/// sum, and what can't be read leaves it unknown. So do years of rows that an upgrade has left
/// there, until they are summed up.
std::optional<Millilitres> given_in_all(const Database& database, std::string_view station) {
  const std::string given = "coalesce(sum(iif(id > 0 AND fate IN (" +
                            std::to_string(static_cast<int>(station::Fate::given)) + ", " +
                            std::to_string(static_cast<int>(station::Fate::cut_short)) +
                            "), counted_ul, 0)), 0)";
  const auto sum = database.prepare(
      "SELECT past.n, past.ul + (SELECT " + given + " FROM " + PulseRow::kTable +
      " WHERE station = ?1) + (SELECT coalesce(sum(volume_ul), 0) FROM " + DayRow::kTable +
      " WHERE station = ?1) FROM (SELECT count(*) AS n, " + given + " AS ul FROM (SELECT * FROM " +
      PastPulseRow::kTable + " WHERE station = ?1 LIMIT ?2)) AS past");
  sum->bind(station, std::int64_t{kPastRowsMax});
  const auto found = sum->next();
  const bool whole = found && *found && sum->integer(0) < kPastRowsMax;
  return whole ? std::optional{volume_of(sum->integer(1))} : std::nullopt;
}

}  // namespace

Stored<void> Ledger::add_doses(std::string_view station, dosing::Stamp now,
                               station::History& history) const {
  auto done = each<PulseRow>(database_, station, " ORDER BY id", [&](const PulseRow& row) {
    history.newest_pulse_id = std::max(history.newest_pulse_id, row.id);
    const dosing::Dose dose{row.id,
                            {duration_of(row.end_lifetime_ms), wall_of(row.end_wall_ms)},
                            volume_of(row.counted_ul)};
    const auto fate = static_cast<station::Fate>(row.fate);
    if (row.id > 0 && fate != station::Fate::presumed) {
      note_newest(row, dose, history);
    }
    if (row.counted_ul > 0 && (fate == station::Fate::given || fate == station::Fate::cut_short)) {
      history.newest_given = dose.end;
      history.last_given = {wall_of(row.reserved_wall_ms), dose.volume};
    }
    if (dosing::age(dose.end, now) < std::chrono::hours{24}) {
      history.doses.push_back(dose);
    }
  });
  const auto whole = done ? whole_to(station) : tl::unexpected(done.error());
  if (!whole) {
    return tl::unexpected(whole.error());
  }
  history.newest_pulse_id = std::max(history.newest_pulse_id, whole->value_or(0));
  // What was said to count as full does so, whether or not the row can be read back.
  const auto presumed = presumed_.find(station);
  if (presumed != presumed_.end() &&
      dosing::age(presumed->second.end, now) < std::chrono::hours{24} &&
      std::none_of(history.doses.begin(), history.doses.end(), [&](const dosing::Dose& dose) {
        return dose.id == presumed->second.id && dose.volume >= presumed->second.volume;
      })) {
    history.doses.push_back(presumed->second);
  }
  return {};
}

/// Rows come in the order of their numbers: the last one stands.
void Ledger::note_newest(const PulseRow& row, const dosing::Dose& dose,
                         station::History& history) const {
  const auto fate = static_cast<station::Fate>(row.fate);
  const station::PulseRecord pulse{
      row.id,
      dose.volume,
      duration_of(row.duration_ms),
      {duration_of(row.reserved_lifetime_ms), wall_of(row.reserved_wall_ms)},
      dose.end};
  history.newest_end = std::max(history.newest_end, dose.end.lifetime);
  history.newest_reserved = Instant{pulse.reserved.lifetime - lifetime_before_boot_};
  history.open_pulse = fate == station::Fate::open ? std::optional{pulse} : std::nullopt;
  if (fate == station::Fate::found || row.duration_ms == 0) {
    history.pump_found_on = dose.end;
  }
}

Stored<void> Ledger::add_stirs(std::string_view station, station::History& history) const {
  auto done =
      each<StirRow>(database_, station, " ORDER BY id DESC LIMIT 1", [&](const StirRow& row) {
        history.newest_stir_id = row.id;
        const Duration dosed = history.newest_reserved.value_or(Instant{}).time_since_epoch() +
                               lifetime_before_boot_ - duration_of(row.start_lifetime_ms);
        history.dosed_since_stir = std::max(Duration::zero(), dosed);
        if (row.end_lifetime_ms && row.boot == boot_id_) {
          history.last_stir = station::History::LastStir{
              Instant{duration_of(row.start_lifetime_ms) - lifetime_before_boot_},
              Instant{duration_of(*row.end_lifetime_ms) - lifetime_before_boot_}};
        }
      });
  return done ? each<StirRow>(database_, station, " AND duration_ms = 0 ORDER BY id DESC LIMIT 1",
                              [&](const StirRow& row) {
                                history.stirrer_found_on = {duration_of(row.start_lifetime_ms),
                                                            wall_of(row.start_wall_ms)};
                              })
              : done;
}

Stored<void> Ledger::add_volumes(std::string_view station, station::History& history) const {
  return each<VolumeRow>(
      database_, station, " ORDER BY since_lifetime_ms", [&](const VolumeRow& row) {
        history.volumes.push_back({{duration_of(row.since_lifetime_ms), wall_of(row.since_wall_ms)},
                                   volume_of(row.volume_ul)});
      });
}

Stored<void> Ledger::add_wishes(std::string_view station, station::History& history) const {
  return each<WishRow>(database_, station, "", [&](const WishRow& row) {
    history.wishes.push_back({static_cast<station::Wish::What>(row.what),
                              volume_of(row.volume_ul),
                              duration_of(row.lasting_ms),
                              {duration_of(row.asked_lifetime_ms), wall_of(row.asked_wall_ms)}});
  });
}

Stored<void> Ledger::add_learned(std::string_view station, station::History& history) const {
  auto done = each<QuarterRow>(database_, station, "", [&](const QuarterRow& row) {
    if (row.quarter >= 0 && row.quarter < signal::DayCourse::kQuarters) {
      history.usual_course[static_cast<std::size_t>(row.quarter)] = {row.mean, days_of(row.days)};
    }
  });
  done = done ? each<EffectRow>(database_, station, "",
                                [&](const EffectRow& row) {
                                  history.effect = {row.share, days_of(row.days)};
                                })
              : done;
  done = done ? each<CycleRow>(database_, station, " ORDER BY at_lifetime_ms",
                               [&](const CycleRow& row) {
                                 history.dose_cycles.push_back(
                                     {duration_of(row.at_lifetime_ms), row.seen, row.expected,
                                      row.value_then, row.expected_then, row.taught != 0});
                               })
              : done;
  const auto maybe_rate = [](double stored) {
    return stored > 0.0 ? std::optional{MillilitresPerMinute{stored}} : std::nullopt;
  };
  done = done ? each<AnchorRow>(
                    database_, station, "",
                    [&](const AnchorRow& row) {
                      history.anchor = {
                          row.first_share > 0.0 ? std::optional{row.first_share} : std::nullopt,
                          maybe_rate(row.confirmed_ml_per_min),
                          maybe_rate(row.contradicted_ml_per_min), maybe_rate(row.rate_ml_per_min),
                          row.beyond_chemistry != 0};
                    })
              : done;
  return done ? each<ReferenceRow>(
                    database_, station, "",
                    [&](const ReferenceRow& row) {
                      const Ph ph{row.ph};
                      history.reference = {
                          ph > Ph{0.0} ? std::optional{ph} : std::nullopt,
                          row.share,
                          {duration_of(row.changed_lifetime_ms), wall_of(row.changed_wall_ms)}};
                    })
              : done;
}

Stored<station::History> Ledger::history(std::string_view station, const Boot& boot) const {
  station::History history;
  history.lifetime_before_boot = lifetime_before_boot_;
  history.given_in_all = given_in_all(database_, station);
  auto done = add_doses(station, stamp(boot.now), history);
  done = done ? add_stirs(station, history) : done;
  done = done ? add_volumes(station, history) : done;
  auto book = done ? BookStore{database_}.read(station) : tl::unexpected(done.error());
  if (!book) {
    return tl::unexpected(book.error());
  }
  history.book = std::move(*book);
  done = done ? each<LatchRow>(database_, station, "",
                               [&](const LatchRow& row) { history.latches.push_back(row.code); })
              : done;
  done = done ? add_wishes(station, history) : done;
  done = done ? add_learned(station, history) : done;
  return done ? Stored<station::History>{std::move(history)} : tl::unexpected(done.error());
}

}  // namespace limegate::journal
