#include "guard/guard.h"

#include <utility>

namespace limegate::guard {
namespace {

/// An observed stirrer that was not heard of for this long may be running.
constexpr Duration kObservationAgeMax = std::chrono::seconds{15};

Outcome outcome_of(const ports::OutletAnswer& answer) {
  if (answer) {
    return {*answer == ports::OutletState::on ? Outcome::Result::on : Outcome::Result::off,
            {},
            answer->off_since};
  }
  if (answer.error().sent == ports::Sent::no) {
    return {Outcome::Result::refused, "The outlet's board could not be reached in time."};
  }
  return {Outcome::Result::unknown, "The outlet's board did not confirm the command."};
}

bool reads_off(const ports::OutletAnswer& answer) {
  return answer && *answer == ports::OutletState::off;
}

}  // namespace

Guard::Guard(const Settings& settings, const Parts& parts, std::string boot,
             const std::optional<Record>& known)
    : settings_(settings), parts_(parts), observed_at_(parts.clock.now().mono) {
  const Instant now = observed_at_;
  record_.boot = std::move(boot);
  record_.stir_ended = now;
  if (known) {
    record_.newest_pulse_id = known->newest_pulse_id;
    record_.kept = known->kept;
    kept_durably_ = known->kept.has_value();
    if (known->boot == record_.boot && known->stirrer == Record::Stirrer::resting &&
        known->stir_ended <= now && parts_.stirrer != nullptr) {
      record_.stir_ended = known->stir_ended;
    }
  }
  if (parts_.stirrer == nullptr) {
    record_.stirrer = Record::Stirrer::running;  // until its input was heard
  }
}

void Guard::refuse(const Reply& reply, std::string why) {
  under_ = Under::nothing;
  reply({Outcome::Result::refused, std::move(why)});
}

std::string Guard::objection_to_pulse(std::int64_t id, Duration duration,
                                      Instant send_before) const {
  const Instant now = parts_.clock.now().mono;
  if (under_ != Under::nothing) {
    return "The guard refused the pulse: another command is under way.";
  }
  if (id <= record_.newest_pulse_id) {
    return "The guard refused the pulse: its number was used before.";
  }
  if (duration <= Duration::zero() || duration > settings_.pulse_max) {
    return "The guard refused the pulse: it is longer than any pulse may be.";
  }
  if (now >= send_before) {
    return "The guard refused the pulse: it came too late.";
  }
  return objection_to_stirrer();
}

std::string Guard::objection_to_stirrer() const {
  const Instant now = parts_.clock.now().mono;
  if (record_.stirrer != Record::Stirrer::resting) {
    return "The guard refused the pulse: the stirrer is not known to rest.";
  }
  if (parts_.stirrer == nullptr && now - observed_at_ > kObservationAgeMax) {
    return "The guard refused the pulse: the stirrer was not heard of lately.";
  }
  if (!(now - record_.stir_ended >= settings_.settle)) {
    return "The guard refused the pulse: the limewater has not settled by its own record.";
  }
  return {};
}

void Guard::pulse(std::int64_t id, Duration duration, Instant send_before, Reply reply) {
  if (std::string why = objection_to_pulse(id, duration, send_before); !why.empty()) {
    reply({Outcome::Result::refused, std::move(why)});
    return;
  }
  under_ = Under::pulse;
  check_outlets_then_save(
      [this, id] {
        // Also in memory at once: a record that is written meanwhile must not forget the id.
        record_.newest_pulse_id = id;
        return record_;
      },
      [this, duration, send_before, reply] {
        // It may have been stirred while the outlets answered and the record was written.
        if (std::string why = objection_to_stirrer(); !why.empty()) {
          refuse(reply, std::move(why));
        } else {
          send(parts_.pump, duration, send_before, reply);
        }
      },
      reply);
}

void Guard::stir(Duration duration, Instant send_before, Reply reply) {
  if (under_ != Under::nothing || parts_.stirrer == nullptr || duration <= Duration::zero() ||
      duration > settings_.stir_max || parts_.clock.now().mono >= send_before) {
    reply({Outcome::Result::refused,
           "The guard refused the stir: too long, too late, or another "
           "command is under way."});
    return;
  }
  under_ = Under::stir;
  check_outlets_then_save(
      [this] {
        Record record = record_;
        record.stirrer = Record::Stirrer::running;
        return record;
      },
      [this, duration, send_before, reply] {
        record_.stirrer = Record::Stirrer::running;
        send(*parts_.stirrer, duration, send_before, reply);
      },
      reply);
}

void Guard::check_outlets_then_save(std::function<Record()> record, std::function<void()> run,
                                    const Reply& reply) {
  const std::uint64_t ticket = ++ticket_;
  auto save = [this, ticket, record = std::move(record), run = std::move(run), reply] {
    const Instant asked = parts_.clock.now().mono;
    parts_.store.save(record(), [this, ticket, asked, run, reply](RecordStore::Saved saved) {
      if (parts_.clock.now().mono - asked > kSavedWithin) {
        under_ = Under::nothing;
        Outcome late{Outcome::Result::refused,
                     "The disk takes too long to write the guard's record, so nothing is switched "
                     "on."};
        late.disk_too_slow = true;
        reply(late);
      } else if (saved != RecordStore::Saved::durably) {
        refuse(reply, "The guard's own record can't be written, so nothing is switched on.");
      } else if (overtaken(ticket)) {
        refuse(reply, "Switched off before it began.");
      } else {
        run();
      }
    });
  };
  auto check_pump = [this, ticket, save = std::move(save), reply] {
    parts_.pump.read_back([this, ticket, save, reply](const auto& answer) {
      if (overtaken(ticket)) {
        refuse(reply, "Switched off before it began.");
      } else if (!reads_off(answer)) {
        refuse(reply, "The guard refused: the pump does not read off.");
      } else {
        save();
      }
    });
  };
  if (parts_.stirrer == nullptr) {
    check_pump();
    return;
  }
  parts_.stirrer->read_back(
      [this, ticket, check_pump = std::move(check_pump), reply](const auto& answer) {
        if (overtaken(ticket)) {
          refuse(reply, "Switched off before it began.");
        } else if (!reads_off(answer)) {
          refuse(reply, "The guard refused: the stirrer does not read off.");
        } else {
          check_pump();
        }
      });
}

void Guard::send(ports::Outlet& outlet, Duration duration, Instant send_before,
                 const Reply& reply) {
  outlet.run_for(duration, send_before,
                 [this, reply, handed_over = parts_.clock.now().mono](const auto& answer) {
                   under_ = Under::nothing;
                   Outcome outcome = outcome_of(answer);
                   outcome.handed_over = handed_over;
                   reply(outcome);
                 });
}

void Guard::pump_off(Reply reply) {
  ++ticket_;
  parts_.pump.off([reply = std::move(reply)](const auto& answer) { reply(outcome_of(answer)); });
}

void Guard::stirrer_off(Reply reply) {
  ++ticket_;
  if (parts_.stirrer == nullptr) {
    reply({Outcome::Result::refused, "The stirrer is only observed."});
    return;
  }
  parts_.stirrer->off([this, reply = std::move(reply)](const auto& answer) {
    if (reads_off(answer)) {
      note_stirrer_off();
    }
    reply(outcome_of(answer));
  });
}

void Guard::read_pump(Reply reply) {
  parts_.pump.read_back(
      [reply = std::move(reply)](const auto& answer) { reply(outcome_of(answer)); });
}

void Guard::read_stirrer(Reply reply) {
  if (parts_.stirrer == nullptr) {
    reply({Outcome::Result::refused, "The stirrer is only observed."});
    return;
  }
  parts_.stirrer->read_back([this, reply = std::move(reply)](const auto& answer) {
    if (reads_off(answer)) {
      note_stirrer_off();
    } else if (answer && record_.stirrer != Record::Stirrer::running) {
      // Switched from elsewhere. Written down too: a crash must not make the water clear.
      record_.stirrer = Record::Stirrer::running;
      parts_.store.save(record_, [](RecordStore::Saved) {});
    }
    reply(outcome_of(answer));
  });
}

void Guard::note_stirrer_off() {
  // An off that was read while a stir is under way says nothing about the time after it began.
  if (record_.stirrer != Record::Stirrer::running || under_ == Under::stir) {
    return;
  }
  record_.stirrer = Record::Stirrer::resting;
  record_.stir_ended = parts_.clock.now().mono;
  // If this fails the file still says "running", and a restart waits the full settle time.
  parts_.store.save(record_, [](RecordStore::Saved) {});
}

void Guard::keep(Kept kept) {
  if (kept_durably_ && record_.kept == kept) {
    return;
  }
  record_.kept = std::move(kept);
  kept_durably_ = false;
  Record record = record_;
  if (under_ == Under::stir) {
    // The file may say already that it runs, and must go on saying so.
    record.stirrer = Record::Stirrer::running;
  }
  parts_.store.save(record, [this](RecordStore::Saved saved) {
    kept_durably_ = saved == RecordStore::Saved::durably;
  });
}

void Guard::observe_stirrer(Record::Stirrer state, Instant at) {
  const Instant now = parts_.clock.now().mono;
  const bool gap = at - observed_at_ > kObservationAgeMax;
  observed_at_ = at;
  if (state == Record::Stirrer::running) {
    record_.stirrer = state;
  } else if (record_.stirrer == Record::Stirrer::running || gap) {
    record_.stirrer = Record::Stirrer::resting;
    record_.stir_ended = now;
  }
}

}  // namespace limegate::guard
