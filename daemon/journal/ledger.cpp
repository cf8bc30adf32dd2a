#include "journal/ledger.h"

#include <algorithm>

#include "journal/book_store.h"
#include "journal/learned_rows.h"
#include "journal/ledger_rows.h"
#include "journal/stored_row.h"
#include "journal/stored_units.h"
#include "station/release_note.h"
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
  const auto find = select<PulseRow>(database_, " WHERE station = ?1 AND id = ?2");
  find->bind(station, id);
  const auto found = find->next();
  if (!found) {
    return tl::unexpected(found.error());
  }
  if (!*found) {
    return tl::unexpected(StorageError{StorageFault::damaged, "a pulse's row is gone"});
  }
  auto [row, sound] = row_from<PulseRow>(*find);
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
  const auto find = select<StirRow>(database_, " WHERE station = ?1 AND id = ?2");
  find->bind(station, id);
  const auto found = find->next();
  if (!found) {
    return tl::unexpected(found.error());
  }
  if (!*found) {
    return tl::unexpected(StorageError{StorageFault::damaged, "a stir's row is gone"});
  }
  auto [row, sound] = row_from<StirRow>(*find);
  if (!sound) {
    return tl::unexpected(StorageError{StorageFault::damaged, "a stir's row does not fit its sum"});
  }
  // A millisecond late rather than early: the settling is counted from here.
  row.end_lifetime_ms = ms(end.lifetime) + 1;
  row.end_wall_ms = ms(end.wall);
  return store(database_, row);
}

Stored<void> Ledger::latch(std::string_view station, std::string_view code, WallTime since) {
  const auto known = select<LatchRow>(database_, " WHERE station = ?1 AND code = ?2");
  known->bind(station, code);
  const auto found = known->next();
  if (!found) {
    return tl::unexpected(found.error());
  }
  return *found ? Stored<void>{}
                : store(database_, LatchRow{std::string{station}, std::string{code}, ms(since)});
}

Stored<void> Ledger::release(std::string_view station, std::string_view code) {
  return database_.prepare("DELETE FROM latches WHERE station = ?1 AND code = ?2")
      ->bind(station, code)
      .run();
}

Stored<void> Ledger::forget_release_notes(std::string_view station, const Codes& but) {
  std::vector<std::string> forgotten;
  const auto latches = select<LatchRow>(database_, " WHERE station = ?1");
  latches->bind(station);
  auto more = latches->next();
  for (; more && *more; more = latches->next()) {
    const std::string code = row_from<LatchRow>(*latches).row.code;
    if (station::is_release_note(code) && std::find(but.begin(), but.end(), code) == but.end()) {
      forgotten.push_back(code);
    }
  }
  auto done = more ? Stored<void>{} : tl::unexpected(more.error());
  for (auto code = forgotten.begin(); done && code != forgotten.end(); ++code) {
    notes_.push_back("Station " + std::string{station} + ": a release of " +
                     code->substr(station::kReleaseNote.size()) +
                     " was asked for while limegate stood still, but the record is in doubt. If it "
                     "is still held, say it again.");
    done = release(station, *code);
  }
  return done;
}

Stored<void> Ledger::keep(std::string_view station, const station::Wish& wish) {
  return store(database_, WishRow{std::string{station}, static_cast<std::int64_t>(wish.what),
                                  microlitres(wish.volume), ms(wish.lasting),
                                  ms(wish.asked.lifetime), ms(wish.asked.wall)});
}

Stored<void> Ledger::forget(std::string_view station, station::Wish::What what) {
  return database_.prepare("DELETE FROM wishes WHERE station = ?1 AND what = ?2")
      ->bind(station, static_cast<std::int64_t>(what))
      .run();
}

Stored<void> Ledger::keep(std::string_view station, const station::StoreQuarter& learned) {
  return store(database_, QuarterRow{std::string{station}, learned.quarter, learned.learned.mean,
                                     learned.learned.days});
}

Stored<void> Ledger::keep(std::string_view station, const station::LearnedEffect& learned) {
  return store(database_, EffectRow{std::string{station}, learned.share, learned.days});
}

Stored<void> Ledger::keep(std::string_view station, const station::DoseCycle& cycle) {
  if (auto done =
          database_.prepare("DELETE FROM dose_cycles WHERE station = ?1 AND at_lifetime_ms < ?2")
              ->bind(station, ms(cycle.at - std::chrono::hours{24}))
              .run();
      !done) {
    return done;
  }
  return store(database_, CycleRow{std::string{station}, ms(cycle.at), cycle.seen, cycle.expected,
                                   cycle.value_then, cycle.expected_then, cycle.taught ? 1 : 0});
}

Stored<void> Ledger::forget_dose_cycles(std::string_view station) {
  return database_.prepare("DELETE FROM dose_cycles WHERE station = ?1")->bind(station).run();
}

Stored<void> Ledger::keep(std::string_view station, const station::LearnedAnchor& learned) {
  const auto rate = [](const std::optional<MillilitresPerMinute>& known) {
    return known ? known->count() : 0.0;
  };
  return store(database_, AnchorRow{std::string{station}, learned.first_share.value_or(0.0),
                                    rate(learned.confirmed_rate), rate(learned.contradicted_rate),
                                    rate(learned.rate), learned.beyond_chemistry ? 1 : 0});
}

Stored<void> Ledger::keep(std::string_view station, const station::LearnedReference& learned) {
  // No pH is zero: that stands for none.
  return store(database_,
               ReferenceRow{std::string{station}, learned.ph.value_or(Ph{0.0}).count(),
                            learned.share, ms(learned.changed.lifetime), ms(learned.changed.wall)});
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
  return store(database_, VolumeRow{std::string{station}, ms(volume.since.lifetime),
                                    ms(volume.since.wall), microlitres(volume.volume)});
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
              [&](const station::StoreCycle& e) { return keep(station, e.cycle); },
              [&](const station::ForgetCycles&) { return forget_dose_cycles(station); },
              [&](const station::StoreAnchor& e) { return keep(station, e.learned); },
              [&](const station::StoreReference& e) { return keep(station, e.learned); },
              [&](const station::StoreVolumeInForce& e) { return keep(station, e.volume); },
              [&](const station::StoreBookEntry& e) {
                return BookStore{database_}.keep(station, e.entry);
              }},
      entry);
}

}  // namespace limegate::journal
