#include "rehearsal/news_judge.h"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <initializer_list>

namespace limegate::rehearsal {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

// The slacks stand in words in the table of promises.
constexpr Duration kAtOnce = 3s;
/// Ten minutes (common practice: less is somebody's hands in the sump), and what it takes to be
/// sure of it.
constexpr Duration kLongHold = 10min;
constexpr Duration kSureWithin = 2min;
/// Common practice is a check twice a day: by six hours of silence a person must know.
constexpr Duration kSilenceMax = 6h;
constexpr Duration kAlertTakes = 10min;
constexpr Duration kUnusualFor = 15min;
constexpr Duration kLateFor = 3min;
/// A pulse of this length is looked at often enough while it lasts.
constexpr Duration kLongPulse = 20s;
constexpr int kRunsWithoutRelay = 5;
/// Of the day's volume. Whatever halves and eases a plan leaves more.
constexpr double kFarTooLittle = 0.1;
constexpr Duration kShortfallTakes = 25h;
constexpr Duration kDayLookedAtWithin = 2h;  ///< of a start

}  // namespace

NewsJudge::Probe NewsJudge::probe(const std::string& name, const signal::Conditioning& probe) {
  const auto lack = [&](std::vector<std::string> what) {
    for (std::string& one : what) {
      one.insert(0, name);
    }
    return Need{Promise::blind_told, std::move(what), kLongHold + kSureWithin};
  };
  return {probe.plausible_low,     probe.plausible_high,
          probe.stuck_after,       lack({"-missing", "-stale"}),
          lack({"-not-a-number"}), lack({"-implausible"}),
          lack({"-stuck"})};
}

NewsJudge::NewsJudge(const station::Settings& settings)
    : day_volume_(settings.plan.day_volume),
      usual_low_(settings.limits.temperature_usual_low),
      usual_high_(settings.limits.temperature_usual_high),
      ph_(probe("ph", settings.ph)),
      temperature_(probe("temperature", settings.temperature)),
      second_ph_(settings.second_ph ? std::optional{probe("second-ph", *settings.second_ph)}
                                    : std::nullopt),
      outlet_{Promise::outlet_told,
              {"pump-unconfirmed", "pump-off-late", "pump-stuck-on"},
              kLongHold + kSureWithin},
      stirrer_{Promise::stirrer_told,
               {"stir-overdue", "stir-endless", "stirrer-unknown"},
               2 * settings.plan.stir.every + kRhythmSlack + kLongHold + kSureWithin},
      relay_{Promise::relay_told, {"pump-not-on"}, {}},
      temperature_unusual_{
          Promise::temperature_told, {"temperature-unusual", "temperature-stuck"}, kUnusualFor},
      refused_{Promise::disk_told, {"ledger-not-writable"}, kAtOnce},
      slow_{Promise::disk_told, {"disk-slow", "ledger-not-writable"}, kAtOnce} {}

/// Of the silence only what says that nothing is dosed tells: a hold that waits for a person, one
/// that lasts, the shortfall, the ledger. A word about the temperature feeds no coral. Of doses
/// that count as given, and may not have been, words about the pump tell too.
void NewsJudge::told(Duration now, const Told& what) {
  const auto one_of = [&](std::initializer_list<std::string_view> all) {
    return std::any_of(all.begin(), all.end(),
                       [&](std::string_view begins) { return what.alert.starts_with(begins); });
  };
  if (one_of({"dosing-", "held-", "again-", "long-", "ledger", "disk-"})) {
    told_of_dosing_at_ = told_of_doses_at_ = now;
  } else if (one_of({"dose-", "pump-"})) {
    told_of_doses_at_ = now;
  }
  if (!what.ends.empty()) {
    if (const auto over = standing_.find(what.ends); over != standing_.end()) {
      standing_.erase(over);
    }
  }
  if (!what.alert.empty() && !what.begins.empty()) {
    standing_.emplace(what.begins);
  }
}

void NewsJudge::restarted(Duration now) {
  up_since_ = now;
  latches_.clear();
  for (Need* need : {&outlet_, &stirrer_, &relay_, &temperature_unusual_, &refused_, &slow_}) {
    need->since.reset();
  }
  const auto begins_anew = [&](Probe& probe) {
    // What was shown before a start nobody can compare with.
    probe.value.reset();
    probe.changed = now;
    for (Need* need : {&probe.silent, &probe.not_a_number, &probe.implausible, &probe.stuck}) {
      need->since.reset();
    }
  };
  begins_anew(ph_);
  begins_anew(temperature_);
  if (second_ph_) {
    begins_anew(*second_ph_);
  }
  runs_without_relay_ = 0;
  relay_was_on_ = true;
  row_refused_ = false;
  first_late_.reset();
  newest_late_.reset();
}

void NewsJudge::rebooted(Duration unknown) {
  up_since_planned_ = std::max(up_since_planned_ - unknown, Duration::zero());
}

void NewsJudge::pulse(Duration now, Duration lasting, By by) {
  commanded_at_ = now;
  runs_without_relay_ = relay_was_on_ ? 0 : runs_without_relay_ + 1;
  relay_was_on_ = lasting < kLongPulse;
  if (by == By::plan) {
    planned_at_ = now;
    up_since_planned_ = Duration::zero();
    silence_told_ = false;
  }
}

void NewsJudge::row_refused() {
  row_refused_ = true;
  first_late_.reset();
  newest_late_.reset();
}

void NewsJudge::row_written(Duration now, Duration took) {
  if (took <= kSlowWrite) {
    first_late_.reset();
    newest_late_.reset();
  } else {
    first_late_ = first_late_.value_or(now);
    newest_late_ = now;
  }
}

void NewsJudge::need(Need& need, bool is, Verdicts& verdicts) const {
  const Duration now = verdicts.now();
  if (!is) {
    need.since.reset();
    need.missed = false;
    return;
  }
  need.since = need.since.value_or(now);
  if (now - *need.since <= need.within) {
    return;
  }
  const bool missed = std::none_of(need.alerts.begin(), need.alerts.end(),
                                   [&](const std::string& alert) { return stands(alert); });
  if (missed && !need.missed) {
    verdicts.broken(need.promise, need.alerts.front());
  }
  need.missed = missed;
}

void NewsJudge::look_at(Probe& probe, const std::optional<double>& shown,
                        Verdicts& verdicts) const {
  const bool number = shown && std::isfinite(*shown);
  const bool plausible = number && *shown >= probe.low && *shown <= probe.high;
  if (plausible && shown != probe.value) {
    probe.value = shown;
    probe.changed = verdicts.now();
  }
  need(probe.silent, !shown, verdicts);
  need(probe.not_a_number, shown && !number, verdicts);
  need(probe.implausible, number && !plausible, verdicts);
  need(probe.stuck,
       plausible && probe.stuck_after > Duration::zero() &&
           verdicts.now() - probe.changed > probe.stuck_after,
       verdicts);
}

/// Whatever way it became one: each that stands now, and none that is gone.
void NewsJudge::judge_latches(const std::vector<std::string>& codes, Verdicts& verdicts) {
  std::erase_if(latches_, [&](const auto& latch) {
    return std::find(codes.begin(), codes.end(), latch.first) == codes.end();
  });
  for (const std::string& code : codes) {
    const auto [latch, fresh] = latches_.try_emplace(code);
    if (fresh) {
      latch->second = Need{Promise::latch_told, {code}, kAtOnce};
    }
    need(latch->second, true, verdicts);
  }
}

void NewsJudge::judge_silence(Verdicts& verdicts) {
  const Duration now = verdicts.now();
  const bool told = told_of_dosing_at_ && *told_of_dosing_at_ > planned_at_;
  if (day_volume_ > Millilitres{} && up_since_planned_ > kSilenceMax + kAlertTakes &&
      now - commanded_at_ > kSilenceMax + kAlertTakes && now - up_since_ > kAlertTakes && !told &&
      !silence_told_) {
    verdicts.broken(Promise::silence_told);
    silence_told_ = true;
  }
}

void NewsJudge::minute(Millilitres given, Millilitres wished, Verdicts& verdicts) {
  const Duration now = verdicts.now();
  if (!(given < wished * kFarTooLittle)) {
    too_little_since_.reset();
    shortfall_told_ = false;
    return;
  }
  too_little_since_ = too_little_since_.value_or(now);
  const bool told =
      stands("dosing-stopped") || (told_of_doses_at_ && *told_of_doses_at_ > *too_little_since_);
  if (now - *too_little_since_ > kShortfallTakes && now - up_since_ > kDayLookedAtWithin && !told &&
      !shortfall_told_) {
    verdicts.broken(Promise::shortfall_told);
    shortfall_told_ = true;
  }
}

void NewsJudge::second(const Second& second, Verdicts& verdicts) {
  relay_was_on_ = relay_was_on_ || second.pump_relay_on || second.board != Second::Board::answers;
  if (second.pump_relay_on) {
    runs_without_relay_ = 0;
  }
  if (second.program_runs) {
    up_since_planned_ += 1s;
    look_at(ph_, second.ph, verdicts);
    look_at(temperature_, second.temperature, verdicts);
    if (second_ph_) {
      look_at(*second_ph_, second.second_ph, verdicts);
    }
    if (second.waits_for_person != nullptr) {
      judge_latches(*second.waits_for_person, verdicts);
    }
    need(outlet_, second.board == Second::Board::silent, verdicts);
    need(stirrer_, !second.stirrer_told, verdicts);
    need(relay_, runs_without_relay_ >= kRunsWithoutRelay, verdicts);
    const auto& temperature = second.temperature;
    need(temperature_unusual_,
         temperature && *temperature >= temperature_.low && *temperature <= temperature_.high &&
             (*temperature < usual_low_ || *temperature > usual_high_),
         verdicts);
    row_refused_ = row_refused_ && !stands("ledger-not-writable");
    need(refused_, row_refused_, verdicts);
    need(slow_, first_late_ && *newest_late_ - *first_late_ > kLateFor, verdicts);
  }
  judge_silence(verdicts);
}

}  // namespace limegate::rehearsal
