#include "station/doser.h"

#include <algorithm>
#include <cstdlib>
#include <utility>
#include <variant>

namespace limegate::station {
namespace {

dosing::Account account_of(const std::vector<dosing::Dose>& doses) {
  dosing::Account account;
  for (const dosing::Dose& dose : doses) {
    account.add(dose);
  }
  return account;
}

}  // namespace

const char* name_of(PumpDuty::Phase phase) {
  using Phase = PumpDuty::Phase;
  switch (phase) {
    case Phase::resting:
      return "off";
    case Phase::reserving:
    case Phase::reserved:
      return "about-to-run";
    case Phase::sent:
    case Phase::running:
      return "running";
    case Phase::ending:
      return "ending";
  }
  std::abort();
}

Doser::Doser(const Settings& settings, const History& history, Moment now)
    : plan_(settings.plan),
      lifetime_before_boot_(history.lifetime_before_boot),
      pump_({settings.plan.pump_rate, settings.pump_ends}, history, now),
      account_(account_of(history.doses)),
      attended_(settings.plan),
      limewater_since_(limewater_since(history, now.mono)),
      last_given_(history.last_given),
      given_in_all_(history.given_in_all) {}

dosing::Stamp Doser::stamp(Moment now) const {
  return {now.mono.time_since_epoch() + lifetime_before_boot_, now.wall};
}

std::int64_t Doser::reserve(Moment now, Millilitres volume, Effects& effects) {
  pump_.reserve(now.mono, stamp(now), volume, dosing::duration_of(volume, plan_), effects);
  return pump_.pulse().id;
}

std::optional<PulseRecord> Doser::ledger_failed() {
  const bool writing = pump_.phase() == PumpDuty::Phase::reserving;
  pump_.ledger_failed();
  return writing ? std::optional{pump_.pulse()} : std::nullopt;
}

void Doser::know(Moment now, rules::Snapshot& known) const {
  known.pump_flow =
      pump_.may_flow() ? rules::Snapshot::PumpFlow::possible : rules::Snapshot::PumpFlow::none;
  if (const auto since = pump_.flows_since()) {
    known.flowing_for = now.mono - *since;
  }
  known.pump_outlet = pump_.watch().known(now.mono);
  known.pump_found = pump_.found();
  if (pump_.timer_failed()) {
    known.pump_timer = rules::Snapshot::PumpTimer::failed;
  }
  const dosing::Stamp today = stamp(now);
  known.given_hour = account_.last_hour(today);
  known.given_day = account_.last_day(today);
  known.least_pulse = dosing::least_pulse(plan_);
}

void Doser::show(Moment now, Status& status) const {
  const dosing::Stamp today = stamp(now);
  status.pump = pump_.phase();
  status.pump_confirmed_off = pump_.watch().confirmed_off() &&
                              pump_.watch().known(now.mono) == rules::OutletKnown::as_commanded;
  status.given_hour = account_.last_hour(today);
  status.given_day = account_.last_day(today);
  status.last_given = last_given_;
  status.given_in_all = given_in_all_;
  status.attended_run = attended_.shown();
}

void Doser::note_given(const ClosePulse& closed) {
  const bool given = closed.fate == Fate::given || closed.fate == Fate::cut_short;
  if (!given || !(closed.counted > Millilitres{0.0})) {
    return;
  }
  last_given_ = {pump_.pulse().reserved.wall, closed.counted};
  if (given_in_all_) {
    *given_in_all_ += closed.counted;
  }
}

/// What is stated again after a fault was noted when it ended.
bool Doser::ends_newest(const ClosePulse& closed) const {
  return closed.id == pump_.pulse().id && closed.id != noted_pulse_;
}

void Doser::tell(Moment now, Effects& effects) {
  const auto closed = std::find_if(effects.begin(), effects.end(), [this](const Effect& effect) {
    const auto* one = std::get_if<ClosePulse>(&effect);
    return one != nullptr && ends_newest(*one);
  });
  if (closed == effects.end()) {
    return;
  }
  const auto pulse = std::get<ClosePulse>(*closed);
  const std::string counted = rules::volume_for_people(pulse.counted);
  if (attended_.under_way()) {
    attended_.counted(pulse);
  }
  if (pulse.fate == Fate::not_given) {
    effects.emplace_back(Raise{{now.wall, Severity::info, "pulse-not-given",
                                "A pulse was written down and not given: nothing was sent."}});
  } else if (pulse.fate == Fate::unsure) {
    effects.emplace_back(Raise{{now.wall, Severity::info, "pulse-unsure",
                                "The pulse that was begun before the start counts with " + counted +
                                    "; whether it was given is not known."}});
  } else {
    effects.emplace_back(Raise{
        {now.wall, Severity::info, pulse.fate == Fate::given ? "pulse-given" : "pulse-cut-short",
         (pulse.fate == Fate::given ? "Dosed " : "Cut a pulse short at ") + counted + "."}});
  }
}

std::optional<ClosePulse> Doser::count(const Effects& effects) {
  std::optional<ClosePulse> ended;
  for (const Effect& effect : effects) {
    if (const auto* append = std::get_if<AppendPulse>(&effect)) {
      account_.prune(append->pulse.reserved);
      account_.add({append->pulse.id, append->pulse.end, append->pulse.volume});
    } else if (const auto* closed = std::get_if<ClosePulse>(&effect)) {
      account_.revise(closed->id, closed->counted);
      if (ends_newest(*closed)) {
        noted_pulse_ = closed->id;
        note_given(*closed);
        ended = *closed;
      }
    }
  }
  return ended;
}

std::optional<Doser::Begins> Doser::begins(Instant now, const Effects& effects) {
  const bool begins = std::any_of(effects.begin(), effects.end(), [](const Effect& effect) {
    return std::holds_alternative<AppendPulse>(effect);
  });
  if (!begins) {
    return std::nullopt;
  }
  const auto before = std::exchange(limewater_since_, now);
  return Begins{before ? std::optional<Duration>{now - *before} : std::nullopt};
}

std::vector<dosing::Dose> Doser::recount(Moment now, const std::vector<dosing::Dose>& again) {
  account_.prune(stamp(now));
  std::vector<dosing::Dose> lacking;
  for (const dosing::Dose& mine : account_.doses()) {
    if (std::none_of(again.begin(), again.end(),
                     [&](const dosing::Dose& dose) { return dose.id == mine.id; })) {
      lacking.push_back(mine);
    }
  }
  for (const dosing::Dose& dose : again) {
    account_.merge(dose);
  }
  return lacking;
}

}  // namespace limegate::station
