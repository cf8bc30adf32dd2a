// What a station makes of everything that arrives: it takes note, and may only stop.

#include "station/station.h"

namespace limegate::station {

struct Station::Takes {
  Station& station;
  Moment now;
  Effects& effects;

  void operator()(const ProbeSample& sample) const {
    const Probes::Says says = station.probes_.take(now, sample);
    if (says == Probes::Says::nothing) {
      return;
    }
    if (station.gate_.closes(*sample.value) || says == Probes::Says::implausible_ph) {
      station.doser_.stop(now.mono, effects);
    }
    if (station.wants_quick_readings()) {
      station.stirrer_.look(effects);
    }
  }

  void operator()(const StirrerSample& sample) const {
    station.stirrer_.take(now.mono, station.stamp(now), sample, effects);
    if (sample.running.value_or(false)) {
      station.doser_.stop(now.mono, effects);
    }
  }

  void operator()(const InputSample& sample) const {
    if (station.gate_.closes(now, sample)) {
      station.doser_.stop(now.mono, effects);
    }
  }

  void operator()(const PulseDurable& durable) const {
    station.doser_.durable(now.mono, durable.id);
    station.recording_.take(now.mono, durable, effects);
  }

  void operator()(const StirDurable& durable) const {
    station.recording_.take(now.mono, durable);
    station.stirrer_.durable(now.mono, durable.id);
    if (station.served_by_ == durable.id) {
      station.service_over(now, effects);
    }
  }

  void operator()(const LedgerFault& fault) const {
    station.recording_.take(fault);
    if (const auto pulse = station.doser_.ledger_failed()) {
      station.recording_.not_sent(*pulse);
      station.schedule_.not_sent(pulse->id);  // it is due again when the ledger is sound
    }
    station.doser_.stop(now.mono, effects);
    station.stirrer_.ledger_failed();
    station.served_by_.reset();  // its row may be lost: another one is written
  }

  void operator()(const BookEntryDurable& durable) const { station.book_.durable(durable.number); }

  /// What was to be kept while the ledger could not be written is written now.
  void operator()(const LedgerSound& sound) const {
    station.recording_.take(sound, effects);
    for (const std::string& code : station.latches()) {
      effects.emplace_back(StoreLatch{code, StoreLatch::To::latched});
    }
    station.wishes_.restate({now.mono, station.stamp(now)}, effects);
    station.schedule_.store(effects);
    station.book_.store();
    station.water_.store(effects);
  }

  void operator()(const OutletReport& report) const {
    // A refused off or look comes again and again; the hold for an unconfirmed outlet speaks of it.
    // A disk that is too slow has a hold of its own.
    if (report.result == OutletReport::Result::refused && !report.disk_too_slow &&
        report.command == OutletReport::Command::run) {
      effects.emplace_back(Raise{{now.wall, Severity::warning, "outlet-refused", report.why}});
    }
    station.recording_.take(now.mono, report);
    if (report.role == rules::OutletRole::pump) {
      station.doser_.take(now, report, effects);
    } else {
      station.stirrer_.take(now, station.stamp(now), report, effects);
      if (report.result == OutletReport::Result::on) {
        station.doser_.stop(now.mono, effects);
      }
    }
    station.note_disturbance(now.mono);
  }

  void operator()(const Stopping& /*stopping*/) const {
    station.stopping_until_ = now.mono + kPauseMax;
    station.doser_.stop(now.mono, effects);
  }
};

Effects Station::observe(Moment now, const Observation& observation) {
  Effects effects;
  std::visit(Takes{*this, now, effects}, observation);
  doser_.tell(now, effects);
  take_note(now, effects);
  return effects;
}

}  // namespace limegate::station
