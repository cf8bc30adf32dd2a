#include "rehearsal/rehearsal.h"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <utility>

#include "rehearsal/rehearsed_outlet.h"

namespace limegate::rehearsal {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using Kind = Fault::Kind;
using Part = simulator::Tank::Part;

constexpr Instant kWorldBegins{1h};
constexpr Duration kFarAway = 24h * 3650;
constexpr Duration kReopenEvery = 15s;
constexpr double kKgPerLitre = 1.0234;  // seawater of 35 at 25.5 degC, for dKH in the report only

Dkh dkh_of(const simulator::Tank& tank) {
  const double meq = tank.aquarium().display().alkalinity.count() * kKgPerLitre / 1000.0;
  return Dkh{meq * 56.0774 / 20.0};
}

}  // namespace

Rehearsal::Rehearsal(Plan plan)
    : plan_(std::move(plan)),
      clock_{},
      tank_(plan_.tank, {kWorldBegins, plan_.start}),
      oracle_({plan_.settings.limits.settle, plan_.settings.limits.hour, plan_.settings.limits.day,
               plan_.settings.plan.pump_rate}) {
  clock_.moment = {kWorldBegins, plan_.start};
  outcome_.powder_g_start = tank_.reactor().powder_g();
  outcome_.alkalinity_start = dkh_of(tank_);
}

void Rehearsal::start_program() {
  const auto post = [this](std::function<void()> what) { posted_.push_back(std::move(what)); };
  const auto outlet = [&](Part part) {
    return std::make_unique<RehearsedOutlet>(RehearsedOutlet::Parts{
        tank_, part, clock_, post,
        [this, part] {
          using Condition = RehearsedOutlet::Condition;
          const Kind welded = part == Part::pump ? Kind::pump_stuck_on : Kind::stirrer_stuck_on;
          return Condition{active(Kind::bus_silent), active(welded),
                           part == Part::pump && active(Kind::board_timer_fails)};
        },
        [this, part](Duration duration) {
          if (part == Part::pump) {
            const Duration age = evidence_at_ ? world_ - *evidence_at_ : -1s;
            oracle_.pump_commanded(ledger_.newest_pulse_id(), duration, age);
            ++outcome_.pulses;
          } else {
            ++outcome_.stirs;
          }
        }});
  };
  evidence_at_.reset();
  ledger_faulty_ = false;
  program_ = std::make_unique<shell::StationShell>(
      plan_.settings,
      shell::StationShell::Parts{
          ledger_, clock_, boot_, outlet(Part::pump),
          plan_.settings.stirrer == station::StirrerKind::switched ? outlet(Part::stirrer)
                                                                   : nullptr,
          std::make_unique<MemoryStore>(guard_record_), guard_record_,
          [this](const std::string& /*station*/, const station::Event& event) {
            if (event.severity == station::Severity::alert) {
              outcome_.alerts.push_back({world_, event});
            }
          },
          [this](const std::string& why) {
            if (!ledger_faulty_) {
              outcome_.alerts.push_back({world_, shell::ledger_failed(clock_.moment.wall, why)});
            }
            ledger_faulty_ = true;
            reopen_at_ = world_ + kReopenEvery;
            // Told from outside of the write that failed, as the daemon's loop does.
            posted_.push_back([this, why] { program_->observe(station::LedgerFault{why}); });
          }});
  program_->begin(ledger_.history(clock_.moment));
}

void Rehearsal::begin(const Fault& fault) {
  active_[fault.kind] = fault;
  switch (fault.kind) {
    case Kind::ph_stuck:
      stuck_ph_ = tank_.sample_ph();
      return;
    case Kind::pump_stuck_on:
      tank_.run_for(Part::pump, kFarAway);
      return;
    case Kind::stirrer_stuck_on:
      tank_.run_for(Part::stirrer, kFarAway);
      return;
    case Kind::pump_dead:
      tank_.set_pump_factor(0.0);
      return;
    case Kind::pump_fast:
      tank_.set_pump_factor(fault.value);
      return;
    case Kind::siphon:
      tank_.set_siphon(MillilitresPerMinute{fault.value});
      return;
    case Kind::disk_full:
      ledger_.set_disk(MemoryLedger::Disk::full);
      return;
    case Kind::crash:
    case Kind::power_cut:
      program_.reset();
      posted_.clear();
      if (fault.kind == Kind::power_cut) {
        tank_.off(Part::pump);
        tank_.off(Part::stirrer);
      }
      return;
    case Kind::clock_step:
      clock_.moment.wall += std::chrono::duration_cast<Duration>(
          std::chrono::duration<double, std::ratio<3600>>(fault.value));
      active_.erase(fault.kind);
      return;
    case Kind::stirrer_dead:
      tank_.set_stirrer_motor(simulator::Tank::Motor::stands);
      return;
    case Kind::ph_silent:
    case Kind::ph_offset:
    case Kind::ph_drift:
    case Kind::temperature_silent:
    case Kind::bus_silent:
    case Kind::board_timer_fails:
      return;
  }
}

void Rehearsal::end(const Fault& fault) {
  active_.erase(fault.kind);
  if (fault.kind == Kind::pump_stuck_on) {
    tank_.off(Part::pump);
  } else if (fault.kind == Kind::stirrer_stuck_on) {
    tank_.off(Part::stirrer);
  } else if (fault.kind == Kind::pump_dead || fault.kind == Kind::pump_fast) {
    tank_.set_pump_factor(1.0);
  } else if (fault.kind == Kind::siphon) {
    tank_.set_siphon(MillilitresPerMinute{0.0});
  } else if (fault.kind == Kind::stirrer_dead) {
    tank_.set_stirrer_motor(simulator::Tank::Motor::turns);
  } else if (fault.kind == Kind::disk_full) {
    ledger_.set_disk(MemoryLedger::Disk::sound);
  } else if (fault.kind == Kind::crash || fault.kind == Kind::power_cut) {
    if (fault.kind == Kind::power_cut) {
      ledger_.reboot();
      clock_.moment.mono = Instant{20s};
      boot_ = "boot-" + std::to_string(++outcome_.restarts + 1);
    } else {
      ++outcome_.restarts;
    }
    start_program();
  }
}

void Rehearsal::sample() {
  if (active(Kind::bus_silent)) {
    program_->observe(station::ProbeSample{rules::Role::ph, std::nullopt});
    program_->observe(station::ProbeSample{rules::Role::temperature, std::nullopt});
    return;
  }
  std::optional<double> ph = tank_.sample_ph();
  if (active(Kind::ph_stuck)) {
    ph = stuck_ph_;
  }
  if (active(Kind::ph_offset)) {
    *ph += value_of(Kind::ph_offset);
  }
  if (active(Kind::ph_drift)) {
    const Fault& drift = active_.at(Kind::ph_drift);
    *ph += drift.value * std::chrono::duration<double>(world_ - drift.at).count() / 86400.0;
  }
  if (active(Kind::ph_silent)) {
    ph.reset();
  } else {
    evidence_at_ = world_;
  }
  // A transmitter has a last digit.
  const auto digits = [](std::optional<double> value, double resolution) {
    return value ? std::optional{std::round(*value / resolution) * resolution} : value;
  };
  program_->observe(
      station::ProbeSample{rules::Role::ph, digits(ph, plan_.settings.ph.resolution)});
  std::optional<double> temperature = tank_.sample_temperature();
  if (active(Kind::temperature_silent)) {
    temperature.reset();
  }
  program_->observe(station::ProbeSample{
      rules::Role::temperature, digits(temperature, plan_.settings.temperature.resolution)});
}

void Rehearsal::run_posted() {
  while (!posted_.empty() && program_) {
    const auto what = std::move(posted_.front());
    posted_.pop_front();
    what();
  }
}

void Rehearsal::visit() {
  if (plan_.keeper == Plan::Keeper::away || world_ % 12h != 8h) {
    return;
  }
  for (const station::Status::Held& held : program_->core().status(clock_.moment).holds) {
    if (held.clears == rules::Clears::by_person) {
      (void)program_->command(station::Release{held.code}, station::Origin::station);
    }
  }
}

void Rehearsal::recover() {
  if (!ledger_faulty_ || world_ < reopen_at_) {
    return;
  }
  reopen_at_ = world_ + kReopenEvery;
  if (ledger_.sound()) {
    ledger_faulty_ = false;
    program_->recover(ledger_.history(clock_.moment));
  }
}

void Rehearsal::watch() {
  const double ph = tank_.aquarium().ph().count();
  outcome_.ph_low = std::min(outcome_.ph_low, ph);
  outcome_.ph_high = std::max(outcome_.ph_high, ph);
  if (world_ % 1min == Duration::zero()) {
    half_hour_.push_back(ph);
    if (half_hour_.size() > 31) {
      half_hour_.pop_front();
    }
    outcome_.rise_30min =
        std::max(outcome_.rise_30min, ph - *std::min_element(half_hour_.begin(), half_hour_.end()));
  }
  if (tank_.delivered().count() > delivered_before_) {
    delivered_before_ = tank_.delivered().count();
    flowed_at_ = world_;
  }
  outcome_.longest_silence = std::max(outcome_.longest_silence, world_ - flowed_at_);
  oracle_.counted(ledger_.counted());
  if (program_) {
    for (const char* code : program_->core().hold_codes()) {
      outcome_.held[code] += 1s;
    }
  }
}

void Rehearsal::second() {
  world_ += 1s;
  clock_.moment.mono += 1s;
  clock_.moment.wall += 1s;
  // The world has a clock of its own: neither boots nor clock steps touch it.
  tank_.advance({kWorldBegins + world_, plan_.start + world_});
  oracle_.second(
      world_, tank_.stirs() ? Oracle::Stirs::yes : Oracle::Stirs::no,
      tank_.state(Part::pump) == ports::OutletState::on ? Oracle::Pump::on : Oracle::Pump::off);
  for (const Fault& fault : plan_.faults) {
    if (world_ == fault.at + fault.lasting && fault.lasting > Duration::zero() &&
        active(fault.kind)) {
      end(fault);
    }
    if (world_ == fault.at && !active(fault.kind) &&
        (program_ || (fault.kind != Kind::crash && fault.kind != Kind::power_cut))) {
      begin(fault);
    }
  }
  if (program_) {
    sample();
    run_posted();
    program_->step();
    run_posted();
    recover();
    run_posted();
    visit();
  }
  watch();
}

Outcome Rehearsal::run() {
  start_program();
  run_posted();
  while (world_ < plan_.lasting) {
    second();
  }
  outcome_.lasted = world_;
  outcome_.planned =
      plan_.settings.plan.day_volume * (std::chrono::duration<double>(world_).count() / 86400.0);
  outcome_.counted = ledger_.counted();
  outcome_.delivered = tank_.delivered();
  outcome_.powder_g_end = tank_.reactor().powder_g();
  outcome_.alkalinity_end = dkh_of(tank_);
  outcome_.violations = oracle_.violations();
  return std::move(outcome_);
}

}  // namespace limegate::rehearsal
