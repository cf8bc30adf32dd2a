// What a station makes of everything that arrives: it takes note, and may only stop.

#include <utility>

#include "station/station.h"

namespace limegate::station {
namespace {

/// The same moment on both clocks, as long ago as it is by the one that does not jump.
Moment moment_of(const AnsweredAt& at, Moment now) {
  const Instant then = at.value_or(now.mono);
  return {then, now.wall - (now.mono - then), now.wall_trusted};
}

}  // namespace

Effects Station::observe(Moment now, const Observation& observation) {
  Effects effects;
  std::visit([&](const auto& what) { take(now, what, effects); }, observation);
  note_pulses(now, effects);
  take_note(now, effects);
  return effects;
}

void Station::take(Moment now, const ProbeSample& sample, Effects& effects) {
  signal::Conditioner* probe = sample.role == rules::Role::ph            ? &ph_
                               : sample.role == rules::Role::temperature ? &temperature_
                               : second_ph_                              ? &*second_ph_
                                                                         : nullptr;
  if (probe == nullptr) {
    return;
  }
  if (!sample.value) {
    probe->accept_fault();
    return;
  }
  probe->accept(*sample.value, moment_of(sample.at, now));
  if (sample.role == rules::Role::temperature) {
    return;
  }
  if (rules::raw_ph_closes(*sample.value, settings_.limits)) {
    memory_.ceiling_tripped = true;
    pump_.stop(now.mono, effects);
  } else if (!probe->plausible(*sample.value)) {
    pump_.stop(now.mono, effects);
  }
  if (pump_.may_flow()) {
    stir_.look(effects);
  }
}

void Station::take(Moment now, const StirrerSample& sample, Effects& effects) {
  stir_.take(now.mono, stamp(now), sample, effects);
  if (sample.running.value_or(false)) {
    pump_.stop(now.mono, effects);
  }
}

void Station::take(Moment now, const InputSample& sample, Effects& effects) {
  if (owner_.take(now, sample)) {
    pump_.stop(now.mono, effects);
  }
}

void Station::take(Moment now, const PulseDurable& durable, Effects& effects) {
  disk_.durable(now.mono);
  pump_.durable(now.mono, durable.id);
  if (!ledger_fault_) {
    unrecorded_.durable(durable.id, effects);
  }
}

void Station::take(Moment now, const StirDurable& durable, Effects& /*effects*/) {
  disk_.durable(now.mono);
  stir_.durable(now.mono, durable.id);
}

void Station::take(Moment now, const LedgerFault& fault, Effects& effects) {
  ledger_fault_ = fault.why;
  if (pump_.phase() == PumpDuty::Phase::reserving) {
    unrecorded_.not_sent(pump_.pulse());
    if (pump_.pulse().id == slot_pulse_) {
      last_slot_.reset();  // nothing was sent: it is due again when the ledger is sound
    }
  }
  disk_.ledger_failed();
  pump_.ledger_failed();
  pump_.stop(now.mono, effects);
  stir_.ledger_failed();
}

void Station::take(Moment now, const LedgerSound& /*sound*/, Effects& effects) {
  ledger_fault_.reset();
  // What was to be kept while the ledger could not be written is written now.
  unrecorded_.state(effects);
  for (const std::string& code : latches()) {
    effects.emplace_back(StoreLatch{code, StoreLatch::To::latched});
  }
  wishes_.restate({now.mono, stamp(now)}, effects);
  for (const dosing::VolumeInForce& volume : volumes_.known()) {
    effects.emplace_back(StoreVolumeInForce{volume});
  }
  reference_.store(effects);
  anchor_.store(effects);
}

void Station::take(Moment now, const OutletReport& report, Effects& effects) {
  // A refused off or look comes again and again; the hold for an unconfirmed outlet speaks of it.
  // A disk that is too slow has a hold of its own.
  if (report.result == OutletReport::Result::refused && !report.disk_too_slow &&
      report.command == OutletReport::Command::run) {
    effects.emplace_back(Raise{{now.wall, Severity::warning, "outlet-refused", report.why}});
  }
  disk_.take(now.mono, report);
  if (report.role == rules::OutletRole::pump) {
    pump_.take(now, report, effects);
  } else {
    stir_.take(now, stamp(now), report, effects);
    if (report.result == OutletReport::Result::on) {
      pump_.stop(now.mono, effects);
    }
  }
  note_disturbance(now.mono);
}

void Station::take(Moment now, const Stopping& /*stopping*/, Effects& effects) {
  stopping_until_ = now.mono + kPauseMax;
  pump_.stop(now.mono, effects);
}

}  // namespace limegate::station
