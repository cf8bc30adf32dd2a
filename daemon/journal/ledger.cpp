#include "journal/ledger.h"

#include <algorithm>
#include <chrono>

#include "journal/ledger_rows.h"
#include "journal/stored_units.h"
#include "units/visitor.h"

namespace limegate::journal {
Stored<void> Ledger::prove_writable() const {
  return database_
      .prepare("UPDATE boots SET lifetime_before_ms = lifetime_before_ms WHERE id = ?1")
      ->bind(boot_id_)
      .run();
}

Stored<void> Ledger::append(std::string_view station, const station::PulseRecord& pulse) {
  PulseRow row;
  row.station = station;
  row.id = pulse.id;
  row.volume_ul = row.counted_ul = microlitres(pulse.volume);
  row.duration_ms = ms(pulse.duration);
  row.reserved_lifetime_ms = ms(pulse.reserved.lifetime);
  row.reserved_wall_ms = ms(pulse.reserved.wall);
  row.end_lifetime_ms = ms(pulse.end.lifetime);
  row.end_wall_ms = ms(pulse.end.wall);
  row.boot = boot_id_;
  row.fate = static_cast<std::int64_t>(station::Fate::open);
  return store(database_, row);
}

Stored<void> Ledger::close_pulse(std::string_view station, std::int64_t id, station::Fate fate,
                                 Millilitres counted) {
  const auto find = database_.prepare(std::string{"SELECT "} + kPulseColumns +
                                      " FROM pulses WHERE station = ?1 AND id = ?2");
  find->bind(station, id);
  const auto found = find->next();
  if (!found) {
    return tl::unexpected(found.error());
  }
  if (!*found) {
    return tl::unexpected(StorageError{StorageFault::damaged, "a pulse's row is gone"});
  }
  auto [row, sound] = pulse_from(*find);
  if (!sound) {
    return tl::unexpected(
        StorageError{StorageFault::damaged, "a pulse's row does not fit its sum"});
  }
  row.fate = static_cast<std::int64_t>(fate);
  row.counted_ul = microlitres(counted);
  return store(database_, row);
}

Stored<void> Ledger::append(std::string_view station, const station::StirRecord& stir) {
  StirRow row;
  row.station = station;
  row.id = stir.id;
  row.duration_ms = ms(stir.duration);
  row.start_lifetime_ms = ms(stir.start.lifetime);
  row.start_wall_ms = ms(stir.start.wall);
  row.boot = boot_id_;
  return store(database_, row);
}

Stored<void> Ledger::close_stir(std::string_view station, std::int64_t id, dosing::Stamp end) {
  const auto find = database_.prepare(std::string{"SELECT "} + kStirColumns +
                                      " FROM stirs WHERE station = ?1 AND id = ?2");
  find->bind(station, id);
  const auto found = find->next();
  if (!found) {
    return tl::unexpected(found.error());
  }
  if (!*found) {
    return tl::unexpected(StorageError{StorageFault::damaged, "a stir's row is gone"});
  }
  auto [row, sound] = stir_from(*find);
  if (!sound) {
    return tl::unexpected(StorageError{StorageFault::damaged, "a stir's row does not fit its sum"});
  }
  // A millisecond late rather than early: the settling is counted from here.
  row.end_lifetime_ms = ms(end.lifetime) + 1;
  row.end_wall_ms = ms(end.wall);
  return store(database_, row);
}

Stored<void> Ledger::latch(std::string_view station, std::string_view code, WallTime since) {
  return database_.prepare("INSERT OR IGNORE INTO latches VALUES(?1, ?2, ?3)")
      ->bind(station, code, ms(since))
      .run();
}

Stored<void> Ledger::release(std::string_view station, std::string_view code) {
  return database_.prepare("DELETE FROM latches WHERE station = ?1 AND code = ?2")
      ->bind(station, code)
      .run();
}

Stored<void> Ledger::keep(std::string_view station, const station::Wish& wish) {
  return database_.prepare("INSERT OR REPLACE INTO wishes VALUES(?1, ?2, ?3, ?4, ?5, ?6)")
      ->bind(station, static_cast<std::int64_t>(wish.what), microlitres(wish.volume),
             ms(wish.lasting), ms(wish.asked.lifetime), ms(wish.asked.wall))
      .run();
}

Stored<void> Ledger::forget(std::string_view station, station::Wish::What what) {
  return database_.prepare("DELETE FROM wishes WHERE station = ?1 AND what = ?2")
      ->bind(station, static_cast<std::int64_t>(what))
      .run();
}

Stored<void> Ledger::keep(std::string_view station, const station::StoreQuarter& learned) {
  return database_.prepare("INSERT OR REPLACE INTO usual_course VALUES(?1, ?2, ?3, ?4)")
      ->bind(station, std::int64_t{learned.quarter}, learned.learned.mean,
             std::int64_t{learned.learned.days})
      .run();
}

Stored<void> Ledger::keep(std::string_view station, const station::LearnedEffect& learned) {
  return database_.prepare("INSERT OR REPLACE INTO dose_effect VALUES(?1, ?2, ?3)")
      ->bind(station, learned.share, std::int64_t{learned.days})
      .run();
}

Stored<void> Ledger::keep(std::string_view station, const station::LearnedReference& learned) {
  // No pH is zero: that stands for none.
  return database_.prepare("INSERT OR REPLACE INTO reference VALUES(?1, ?2, ?3, ?4, ?5)")
      ->bind(station, learned.ph.value_or(Ph{0.0}).count(), learned.share,
             ms(learned.changed.lifetime), ms(learned.changed.wall))
      .run();
}

Stored<void> Ledger::keep(std::string_view station, const dosing::VolumeInForce& volume) {
  // Of a day that is over one is enough: the one that was in force as it began.
  if (auto done = database_
                      .prepare("DELETE FROM volumes WHERE station = ?1 AND since_lifetime_ms < "
                               "(SELECT max(since_lifetime_ms) FROM volumes WHERE station = ?1 AND "
                               "since_lifetime_ms <= ?2)")
                      ->bind(station, ms(volume.since.lifetime - std::chrono::hours{24}))
                      .run();
      !done) {
    return done;
  }
  return database_.prepare("INSERT OR REPLACE INTO volumes VALUES(?1, ?2, ?3, ?4)")
      ->bind(station, ms(volume.since.lifetime), ms(volume.since.wall), microlitres(volume.volume))
      .run();
}

Stored<void> Ledger::forget_usual_course(std::string_view station) {
  return database_.prepare("DELETE FROM usual_course WHERE station = ?1")->bind(station).run();
}

Stored<void> Ledger::write(std::string_view station, const station::Entry& entry, WallTime now) {
  return std::visit(
      Visitor{[&](const station::AppendPulse& e) { return append(station, e.pulse); },
              [&](const station::ClosePulse& e) {
                return close_pulse(station, e.id, e.fate, e.counted);
              },
              [&](const station::AppendStir& e) { return append(station, e.stir); },
              [&](const station::CloseStir& e) { return close_stir(station, e.id, e.end); },
              [&](const station::StoreLatch& e) {
                return e.to == station::StoreLatch::To::latched ? latch(station, e.code, now)
                                                                : release(station, e.code);
              },
              [&](const station::StoreWish& e) { return keep(station, e.wish); },
              [&](const station::ForgetWish& e) { return forget(station, e.what); },
              [&](const station::StoreQuarter& e) { return keep(station, e); },
              [&](const station::ForgetCourse&) { return forget_usual_course(station); },
              [&](const station::StoreEffect& e) { return keep(station, e.learned); },
              [&](const station::StoreReference& e) { return keep(station, e.learned); },
              [&](const station::StoreVolumeInForce& e) { return keep(station, e.volume); }},
      entry);
}

Stored<void> Ledger::add_wishes(std::string_view station, station::History& history) const {
  const auto wishes = database_.prepare(
      "SELECT what, volume_ul, lasting_ms, asked_lifetime_ms, asked_wall_ms FROM wishes WHERE "
      "station = ?1");
  wishes->bind(station);
  auto more = wishes->next();
  for (; more && *more; more = wishes->next()) {
    history.wishes.push_back({static_cast<station::Wish::What>(wishes->integer(0)),
                              volume_of(wishes->integer(1)),
                              duration_of(wishes->integer(2)),
                              {duration_of(wishes->integer(3)), wall_of(wishes->integer(4))}});
  }
  return more ? Stored<void>{} : tl::unexpected(more.error());
}

Stored<void> Ledger::add_learned(std::string_view station, station::History& history) const {
  const auto rows =
      database_.prepare("SELECT quarter, mean, days FROM usual_course WHERE station = ?1");
  rows->bind(station);
  auto more = rows->next();
  for (; more && *more; more = rows->next()) {
    const std::int64_t quarter = rows->integer(0);
    if (quarter >= 0 && quarter < signal::DayCourse::kQuarters) {
      history.usual_course[static_cast<std::size_t>(quarter)] = {
          rows->real(1), static_cast<int>(std::clamp<std::int64_t>(rows->integer(2), -1, 1000))};
    }
  }
  if (!more) {
    return tl::unexpected(more.error());
  }
  const auto effect = database_.prepare("SELECT share, days FROM dose_effect WHERE station = ?1");
  effect->bind(station);
  more = effect->next();
  if (more && *more) {
    history.effect = {effect->real(0),
                      static_cast<int>(std::clamp<std::int64_t>(effect->integer(1), -1, 1000))};
  }
  if (!more) {
    return tl::unexpected(more.error());
  }
  const auto reference = database_.prepare(
      "SELECT ph, share, changed_lifetime_ms, changed_wall_ms FROM reference WHERE station = ?1");
  reference->bind(station);
  more = reference->next();
  if (more && *more) {
    const Ph ph{reference->real(0)};
    history.reference = {ph > Ph{0.0} ? std::optional{ph} : std::nullopt,
                         reference->real(1),
                         {duration_of(reference->integer(2)), wall_of(reference->integer(3))}};
  }
  return more ? Stored<void>{} : tl::unexpected(more.error());
}

Stored<station::History> Ledger::history_beside(std::string_view station, const Boot& boot,
                                                std::int64_t newest_sent) {
  auto known = history(station, boot);
  if (!known || newest_sent <= known->newest_pulse_id) {
    return known;
  }
  if (auto done = presume_full(station, "The guard remembers pulses that the ledger does not know.",
                               boot.now);
      !done) {
    return tl::unexpected(done.error());
  }
  known = history(station, boot);
  if (known) {
    known->newest_pulse_id = std::max(known->newest_pulse_id, newest_sent);
  }
  return known;
}

Stored<void> Ledger::add_pulses(std::string_view station, dosing::Stamp now,
                                station::History& history) const {
  const auto pulses = database_.prepare(std::string{"SELECT "} + kPulseColumns +
                                        " FROM pulses WHERE station = ?1 ORDER BY id");
  pulses->bind(station);
  auto more = pulses->next();
  for (; more && *more; more = pulses->next()) {
    const PulseRow row = pulse_from(*pulses).row;
    history.newest_pulse_id = std::max(history.newest_pulse_id, row.id);
    const station::PulseRecord pulse{
        row.id,
        volume_of(row.counted_ul),
        duration_of(row.duration_ms),
        {duration_of(row.reserved_lifetime_ms), wall_of(row.reserved_wall_ms)},
        {duration_of(row.end_lifetime_ms), wall_of(row.end_wall_ms)}};
    const auto fate = static_cast<station::Fate>(row.fate);
    const bool presumed = fate == station::Fate::presumed;
    if (row.counted_ul > 0 && (fate == station::Fate::given || fate == station::Fate::cut_short)) {
      history.newest_given = pulse.end;
    }
    if (fate == station::Fate::found || (!presumed && row.duration_ms == 0)) {
      history.pump_found_on = pulse.end;
    }
    history.newest_end = std::max(history.newest_end, pulse.end.lifetime);
    history.newest_reserved = Instant{pulse.reserved.lifetime - lifetime_before_boot_};
    history.open_pulse = fate == station::Fate::open ? std::optional{pulse} : std::nullopt;
    if (dosing::age(pulse.end, now) < std::chrono::hours{24}) {
      history.doses.push_back({pulse.id, pulse.end, pulse.volume});
    }
  }
  return more ? Stored<void>{} : tl::unexpected(more.error());
}

Stored<void> Ledger::add_stirs(std::string_view station, station::History& history) const {
  const auto stirs = database_.prepare(std::string{"SELECT "} + kStirColumns +
                                       " FROM stirs WHERE station = ?1 ORDER BY id DESC");
  stirs->bind(station);
  auto more = stirs->next();
  for (bool newest = true; more && *more; more = stirs->next(), newest = false) {
    const StirRow row = stir_from(*stirs).row;
    const dosing::Stamp start{duration_of(row.start_lifetime_ms), wall_of(row.start_wall_ms)};
    if (newest) {
      history.newest_stir_id = row.id;
      const Duration rows_end =
          history.newest_reserved
              ? history.newest_reserved->time_since_epoch() + lifetime_before_boot_
              : Duration::zero();
      history.dosed_since_stir = std::max(Duration::zero(), rows_end - start.lifetime);
      if (row.end_lifetime_ms && row.boot == boot_id_) {
        history.last_stir = station::History::LastStir{
            Instant{start.lifetime - lifetime_before_boot_},
            Instant{duration_of(*row.end_lifetime_ms) - lifetime_before_boot_}};
      }
    }
    if (row.duration_ms == 0) {
      history.stirrer_found_on = start;
      break;
    }
  }
  return more ? Stored<void>{} : tl::unexpected(more.error());
}

Stored<void> Ledger::add_volumes(std::string_view station, station::History& history) const {
  const auto rows = database_.prepare(
      "SELECT since_lifetime_ms, since_wall_ms, volume_ul FROM volumes WHERE station = ?1 ORDER BY "
      "since_lifetime_ms");
  rows->bind(station);
  auto more = rows->next();
  for (; more && *more; more = rows->next()) {
    history.volumes.push_back(
        {{duration_of(rows->integer(0)), wall_of(rows->integer(1))}, volume_of(rows->integer(2))});
  }
  return more ? Stored<void>{} : tl::unexpected(more.error());
}

Stored<station::History> Ledger::history(std::string_view station, const Boot& boot) const {
  station::History history;
  history.lifetime_before_boot = lifetime_before_boot_;
  const dosing::Stamp now{boot.now.mono.time_since_epoch() + lifetime_before_boot_, boot.now.wall};
  if (auto added = add_pulses(station, now, history); !added) {
    return tl::unexpected(added.error());
  }
  if (auto added = add_stirs(station, history); !added) {
    return tl::unexpected(added.error());
  }
  if (auto added = add_volumes(station, history); !added) {
    return tl::unexpected(added.error());
  }

  const auto latches = database_.prepare("SELECT code FROM latches WHERE station = ?1");
  latches->bind(station);
  auto more = latches->next();
  for (; more && *more; more = latches->next()) {
    history.latches.push_back(latches->text(0));
  }
  if (!more) {
    return tl::unexpected(more.error());
  }
  if (auto added = add_wishes(station, history); !added) {
    return tl::unexpected(added.error());
  }
  if (auto added = add_learned(station, history); !added) {
    return tl::unexpected(added.error());
  }
  return history;
}

}  // namespace limegate::journal
