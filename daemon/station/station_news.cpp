// What a station tells of itself: events, latches to keep, and its status.

#include <algorithm>
#include <array>
#include <chrono>
#include <cstdlib>
#include <utility>

#include "station/station.h"

namespace limegate::station {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

constexpr std::array<Duration, 4> kSilenceAlerts{6h, 12h, 24h, 48h};
/// A hold that does not mend itself is told to a person after this.
constexpr Duration kLongHold = 10min;

/// A hold that comes with every pulse is shown while it lasts, and is no event.
bool routine(const std::string& code) {
  static const std::string disturbed = rules::code_of(rules::ProbeDisturbed{});
  return code == disturbed;
}

/// A hold as it is told to a person. An observed stirrer can't be kept from making milk of what
/// flows uncommanded: somebody must.
std::string told(const rules::Hold& hold, StirrerKind stirrer) {
  const bool unplug =
      rules::flow(hold) == rules::Flow::perhaps_uncommanded && stirrer == StirrerKind::observed;
  return rules::sentence_of(hold) +
         (unplug ? " Unplug the stirrer: it runs on a timer of its own, and what flows would be "
                   "milk."
                 : "");
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

void Station::note_first_dose(Moment now, Effects& effects) {
  const bool begins = std::any_of(effects.begin(), effects.end(), [](const Effect& effect) {
    return std::holds_alternative<AppendPulse>(effect);
  });
  if (begins) {
    const auto undosed =
        limewater_since_ ? std::optional<Duration>{now.mono - *limewater_since_} : std::nullopt;
    reference_.dose_begins(now, course_, undosed, effects);
    limewater_since_ = now.mono;
  }
}

void Station::note_changes(Moment now, const rules::Judgement& judgement, Effects& effects) {
  const auto same = [&] {
    return holds_.size() == judgement.holds.size() &&
           std::equal(standing_.begin(), standing_.end(), judgement.holds.begin(),
                      [](const Standing& standing, const rules::Hold& hold) {
                        return standing.code == rules::code_of(hold);
                      });
  };
  if (!same()) {
    std::vector<Standing> standing;
    for (const rules::Hold& hold : judgement.holds) {
      const Standing fresh{rules::code_of(hold), now};
      const auto old = std::find(standing_.begin(), standing_.end(), fresh);
      standing.push_back(old == standing_.end() ? fresh : *old);
      if (old == standing_.end() && !routine(fresh.code)) {
        const bool person = rules::clears(hold) == rules::Clears::by_person;
        effects.emplace_back(
            Raise{{now.wall, person ? Severity::alert : Severity::info, "held-" + fresh.code,
                   told(hold, settings_.stirrer), person ? fresh.code : ""}});
      }
    }
    for (const Standing& old : standing_) {
      if (std::find(standing.begin(), standing.end(), old) == standing.end() &&
          !routine(old.code)) {
        effects.emplace_back(Raise{{now.wall,
                                    Severity::info,
                                    "cleared-" + old.code,
                                    "No longer held: " + old.code + ".",
                                    {},
                                    old.code}});
      }
    }
    standing_ = std::move(standing);
  }
  holds_ = judgement.holds;
}

void Station::note_stuck_again(Moment now, const rules::Snapshot& known, Effects& effects) {
  const auto note = [&](rules::OutletKnown outlet, bool latched, bool& reads_on,
                        rules::OutletRole role) {
    const bool was = std::exchange(reads_on, outlet == rules::OutletKnown::stuck_on);
    if (reads_on && !was && latched) {
      const rules::OutletStuckOn hold{role};
      effects.emplace_back(Raise{{now.wall, Severity::alert, "again-" + rules::code_of(hold),
                                  told(hold, settings_.stirrer), rules::code_of(hold)}});
    }
  };
  note(known.pump_outlet, memory_.pump_stuck_latched, pump_reads_on_, rules::OutletRole::pump);
  note(known.stirrer_outlet, memory_.stirrer_stuck_latched, stirrer_reads_on_,
       rules::OutletRole::stirrer);
}

void Station::note_silence(Moment now, Effects& effects) {
  const Duration silent = now.mono - last_dosed_;
  if (silence_alerts_ > 0 && silent < kSilenceAlerts[0]) {
    silence_alerts_ = 0;
    effects.emplace_back(Raise{{now.wall,
                                Severity::info,
                                "dosing-resumed",
                                "Dosing goes on after a long silence.",
                                {},
                                "dosing-stopped"}});
  }
  // What was set to zero from afar is no wish of the keeper: it is told like any other silence.
  if (!(wishes_.day_volume_at_station() > Millilitres{0.0}) ||
      silence_alerts_ >= kSilenceAlerts.size() || silent < kSilenceAlerts[silence_alerts_]) {
    return;
  }
  while (silence_alerts_ + 1 < kSilenceAlerts.size() &&
         silent >= kSilenceAlerts[silence_alerts_ + 1]) {
    ++silence_alerts_;  // it was silent before the start: the longest says it all
  }
  std::string sentence =
      "No limewater was dosed for " + rules::for_people(kSilenceAlerts[silence_alerts_]) + ".";
  // Also what would hold a pulse that is not due just now.
  const rules::Snapshot known = snapshot(now, shape_.pulse_volume);
  rules::Holds holds = rules::judge(now.mono, known, settings_.limits, memory_).holds;
  holds.insert(holds.end(), owner_.holds().begin(), owner_.holds().end());
  for (const rules::Hold& hold : holds) {
    sentence += " " + rules::sentence_of(hold);
  }
  if (shape_.pulses_per_window == 0) {
    sentence += " The day's volume was set to 0 mL from afar.";
  }
  ++silence_alerts_;
  effects.emplace_back(
      Raise{{now.wall, Severity::alert, "dosing-stopped", std::move(sentence), "dosing-stopped"}});
}

void Station::note_shortfall(Moment now, Effects& effects) {
  const Millilitres planned = volume_in_force(wishes_.day_volume_at_station()) * reference_.share();
  if (!(planned > Millilitres{0.0}) || now.mono - shortfall_checked_ < 24h) {
    return;
  }
  shortfall_checked_ = now.mono;
  const Millilitres given = account_.last_day(stamp(now));
  if (given * 2.0 < planned) {
    effects.emplace_back(Raise{
        {now.wall, Severity::alert, "dosing-below-plan",
         "Less than half of the planned volume was dosed in the last 24 h: " +
             rules::volume_for_people(given) + " of " + rules::volume_for_people(planned) + "."}});
  }
}

void Station::note_temperature(Moment now, const signal::Reading& reading, Effects& effects) {
  if (reading.quality != signal::Quality::good) {
    return;
  }
  const rules::Limits& limits = settings_.limits;
  const bool unusual =
      reading.value < limits.temperature_usual_low || reading.value > limits.temperature_usual_high;
  // Half a degree of slack, so that a value at the edge is not told again and again.
  const bool usual = reading.value >= limits.temperature_usual_low + 0.5 &&
                     reading.value <= limits.temperature_usual_high - 0.5;
  if (unusual && !temperature_told_) {
    temperature_told_ = true;
    effects.emplace_back(Raise{{now.wall, Severity::alert, "temperature-unusual",
                                "The water has " + rules::temperature_for_people(reading.value) +
                                    "; a reef likes 22 to 29 °C. Look after heater and cooling.",
                                "temperature-unusual"}});
  } else if (usual && temperature_told_) {
    temperature_told_ = false;
    effects.emplace_back(
        Raise{{now.wall,
               Severity::info,
               "temperature-usual",
               "The water has " + rules::temperature_for_people(reading.value) + " again.",
               {},
               "temperature-unusual"}});
  }
}

void Station::note_long_holds(Moment now, Effects& effects) {
  for (std::size_t i = 0; i < holds_.size(); ++i) {
    Standing& standing = standing_[i];
    if (standing.told == Standing::Told::no &&
        rules::person(holds_[i]) == rules::Person::if_it_lasts &&
        now.mono - standing.since.mono >= kLongHold) {
      standing.told = Standing::Told::yes;
      effects.emplace_back(Raise{{now.wall, Severity::alert, "long-" + standing.code,
                                  "Dosing has been held for " + rules::for_people(kLongHold) +
                                      ". " + told(holds_[i], settings_.stirrer),
                                  standing.code}});
    }
  }
}

void Station::note_pulses(Moment now, Effects& effects) {
  const auto closed = std::find_if(effects.begin(), effects.end(), [this](const Effect& effect) {
    const auto* one = std::get_if<ClosePulse>(&effect);
    return one != nullptr && ends_newest(*one);
  });
  if (closed == effects.end()) {
    return;
  }
  const auto pulse = std::get<ClosePulse>(*closed);
  const std::string counted = rules::volume_for_people(pulse.counted);
  if (attended_) {
    attended_->counted += pulse.counted;
    attended_->ran += pulse.fate == Fate::not_given
                          ? Duration::zero()
                          : minutes_of(pulse.counted.count() / settings_.plan.pump_rate.count());
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

std::optional<Instant> Station::off_due_since() const {
  const auto pump = pump_.watch().off_due_since();
  const auto stirrer = stir_.watch().off_due_since();
  return pump && stirrer ? std::min(*pump, *stirrer) : pump ? pump : stirrer;
}

Status Station::status(Moment now) const {
  const dosing::Stamp today = stamp(now);
  Status status;
  status.station = settings_.name;
  status.at = now;
  status.ph = ph_.reading(now.mono);
  status.temperature = temperature_.reading(now.mono);
  status.inputs = owner_.inputs(now.mono);
  status.usual_ph = course_.usual(now);
  status.usual_course_days_to_go = course_.days_to_go();
  status.usual_effect = effect_.if_learned();
  status.effect_today = effect_.by_chemistry();
  status.usual_effect_days_to_go = effect_.days_to_go();
  status.reference = reference_.ph();
  if (second_ph_) {
    status.second_ph = second_ph_->reading(now.mono);
  }
  const signal::Reading ph = reading(rules::Role::ph, now.mono);
  if (status.reference && ph.quality != signal::Quality::bad) {
    status.above_reference = course_.above(now, Ph{ph.value}, *status.reference);
  }
  status.volume_share = reference_.share();
  status.gate_open = holds_.empty();
  for (std::size_t i = 0; i < holds_.size(); ++i) {
    status.holds.push_back({standing_[i].code, rules::sentence_of(holds_[i]),
                            rules::clears(holds_[i]), standing_[i].since.wall});
  }
  status.pump = pump_.phase();
  status.stirrer = stir_.known(now.mono).state;
  using rules::OutletKnown;
  status.pump_confirmed_off =
      pump_.watch().confirmed_off() && pump_.watch().known(now.mono) == OutletKnown::as_commanded;
  status.stirrer_confirmed_off =
      stir_.confirmed_off() && stir_.outlet(now.mono) == OutletKnown::as_commanded;
  status.pulse_volume = shape_.pulse_volume;
  status.given_hour = account_.last_hour(today);
  status.hour_limit = rules::volume_within(
      settings_.limits.hour_rise, response_.tested_per_millilitre(), settings_.limits.hour);
  status.given_day = account_.last_day(today);
  status.day_limit = settings_.limits.day;
  status.day_volume = wishes_.day_volume();
  status.day_volume_at_station = wishes_.day_volume_at_station();
  status.day_volume_in_force = volume_in_force(wishes_.day_volume());
  status.halved = sentence_of(anchor_.halved(effect_.if_learned()));
  if (const auto until = wishes_.paused_until(); until && *until > now.mono) {
    status.pause_remaining = *until - now.mono;
  }
  status.missing =
      missing_after(now.mono - last_dosed_, volume_in_force(wishes_.day_volume_at_station()),
                    settings_.water.volume);
  status.next_stir_in = stir_.next_start() - now.mono;
  if (const auto window = stir_.clear_window(now.mono, settings_.limits.settle)) {
    if (const auto due = dosing::next_due(shape_, window->open, window->close, now.mono)) {
      status.next_pulse_in = *due - now.mono;
    }
  }
  return status;
}

}  // namespace limegate::station
