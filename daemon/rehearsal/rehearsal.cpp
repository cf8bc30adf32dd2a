#include "rehearsal/rehearsal.h"

#include <algorithm>
#include <chrono>
#include <ratio>
#include <string_view>
#include <utility>

#include <fmt/format.h>

#include "chemistry/keeper_units.h"

namespace limegate::rehearsal {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using Kind = Fault::Kind;

constexpr Instant kWorldBegins{1h};
constexpr Duration kReopenEvery = 15s;
/// More than this beyond all commands, with nothing that explains it, is a broken promise.
constexpr double kUnexplainedMl = 2.0;

Dkh dkh_of(const simulator::Tank& tank) {
  const simulator::Aquarium& aquarium = tank.aquarium();
  return chemistry::to_dkh(
      chemistry::to_meq_per_litre(aquarium.display().alkalinity, aquarium.density()));
}

}  // namespace

Rehearsal::Rehearsal(Plan plan)
    : plan_(std::move(plan)),
      tank_(plan_.tank, {kWorldBegins, plan_.start}),
      probes_(tank_, plan_.settings, plan_.tank.seed),
      oracle_(plan_.settings),
      exposure_({plan_.settings.plan.pump_rate, plan_.tank.aquarium.water, tank_.reactor().volume(),
                 plan_.tank.reactor.powder_g}) {
  for (Fault& fault : plan_.faults) {
    fault.at = std::max(fault.at, Duration{1s});  // the first second that there is
  }
  clock_.moment = {kWorldBegins, plan_.start};
  boot_ = plan_.boot + "-1";
  if (plan_.series != nullptr) {
    series_.emplace(*plan_.series, plan_.settings.name);
  }
  outcome_.powder_g_start = tank_.reactor().powder_g();
  outcome_.alkalinity_start = dkh_of(tank_);
}

bool Rehearsal::acts() {
  if (dies_of_ && !dead_ && --acts_left_ == 0) {
    dead_ = true;
  }
  return !dead_;
}

RehearsedOutlet::Condition Rehearsal::condition(Part part) const {
  const bool pump = part == Part::pump;
  const bool timed = pump ? plan_.boards.pump_timed : plan_.boards.stirrer_timed;
  return {active_.outlets_silent(),
          active_.has(Kind::replies_lost),
          active_.has(pump ? Kind::pump_stuck_on : Kind::stirrer_stuck_on),
          pump && active_.has(Kind::pump_relay_dead),
          !timed || (pump && active_.has(Kind::board_timer_fails)),
          driver_off_[pump ? 0 : 1]};
}

void Rehearsal::commanded(Part part, Duration duration) {
  if (!(part == Part::pump ? plan_.boards.pump_timed : plan_.boards.stirrer_timed)) {
    driver_ends_[part] = world_ + duration;
    driver_off_[part == Part::pump ? 0 : 1].reset();
  }
  if (part == Part::stirrer) {
    ++outcome_.stirs;
    oracle_.stirrer_commanded();
    return;
  }
  const std::int64_t id = disk_->newest_pulse();
  const station::Status status = program_->core().status(clock_.moment);
  oracle_.pump_commanded(
      id, duration, disk_->counted(id),
      {status.usual_course_days_to_go == 0, status.reference, status.usual_effect.has_value()});
  exposure_.pulse_sent();
  newest_sent_at_ = world_;
  ++outcome_.pulses;
}

std::unique_ptr<ports::Outlet> Rehearsal::outlet(Part part) {
  return std::make_unique<RehearsedOutlet>(RehearsedOutlet::Parts{
      tank_, part, clock_, [this] { return acts(); }, [this] { return !dead_; },
      [this](std::function<void()> what) { posted_.push_back(std::move(what)); },
      [this](std::function<void()> what) { post_late(std::move(what)); },
      [this, part] { return condition(part); },
      [this, part](Duration duration) { commanded(part, duration); }});
}

void Rehearsal::told(const station::Event& event) {
  if (dead_) {
    return;
  }
  if (plan_.on_event) {
    plan_.on_event(event);
  }
  if (event.code == "attended-run-over") {
    oracle_.people().attended_over();
  }
  if (event.severity == station::Severity::alert || !event.ends.empty()) {
    outcome_.for_people.push_back({world_, event});
  }
  const bool alert = event.severity == station::Severity::alert;
  oracle_.news().told(world_, {alert ? std::string_view{event.code} : std::string_view{},
                               event.begins, event.ends});
  if (alert) {
    outcome_.alerts.push_back({world_, event});
    exposure_.alerted(event.code);
  }
}

void Rehearsal::ledger_failed(const std::string& why) {
  if (!ledger_faulty_) {
    told(shell::ledger_failed(clock_.moment.wall, why));
  }
  ledger_faulty_ = true;
  reopen_at_ = world_ + kReopenEvery;
  program_->observe(station::LedgerFault{why});
}

void Rehearsal::start_program() {
  ledger_faulty_ = false;
  std::unique_ptr<ports::Outlet> pump = outlet(Part::pump);
  std::unique_ptr<ports::Outlet> stirrer;
  if (plan_.settings.stirrer == station::StirrerKind::switched) {
    stirrer = outlet(Part::stirrer);
  }
  program_ = std::make_unique<shell::StationShell>(
      plan_.settings,
      shell::StationShell::Parts{
          *disk_, clock_, boot_, std::move(pump), std::move(stirrer), disk_->guard_store(),
          disk_->guard_record(),
          [this](const std::string& /*station*/, const station::Event& event) { told(event); },
          [this](const std::string& why) { ledger_failed(why); }});
  auto opened = disk_->open(boot());
  if (opened && recorded_boot_ == boot_) {
    opened->history.seen = recorded_;
  }
  oracle_.restarted(
      recorded_boot_ != boot_ || world_ - recorded_at_ > plan_.settings.limits.climb_window,
      slots_kept_ && plan_.settings.stirrer == station::StirrerKind::switched);
  slots_kept_ = true;
  program_->begin(opened ? std::optional{opened->history} : std::nullopt);
  // What was answered is still there, or all counts as full.
  if (const std::int64_t newest = disk_->newest_pulse();
      opened && world_ - newest_sent_at_ < std::chrono::hours{24} && !disk_->counted(newest) &&
      program_->core().status(clock_.moment).given_day < kCountsAsFull) {
    oracle_.row_written(newest, std::nullopt);
  }
  if (!opened) {
    ledger_failed("it could not be read at the start");
    return;
  }
  tell(opened->notes);
}

void Rehearsal::tell(const std::vector<std::string>& notes) {
  for (const std::string& note : notes) {
    told(shell::ledger_note(clock_.moment.wall, note));
  }
}

void Rehearsal::bury_program() {
  program_.reset();
  disk_->close(dies_of_->kind == Kind::power_cut ? RehearsedDisk::Gone::power
                                                 : RehearsedDisk::Gone::program);
  posted_.clear();
  late_.clear();
  driver_ends_.clear();
  driver_off_ = {};
  dead_ = false;
  ++outcome_.restarts;
  down_until_ = world_ + dies_of_->lasting;
  // A boot settles anew, whatever is in the ledger.
  slots_kept_ = dies_of_->kind == Kind::crash;
  if (dies_of_->kind == Kind::power_cut) {
    tank_.off(Part::pump);
    tank_.off(Part::stirrer);
  } else if (dies_of_->kind == Kind::ledger_lost) {
    disk_->lose_ledger();
  } else if (dies_of_->kind == Kind::ledger_older) {
    disk_->put_back(dies_of_->at, RehearsedDisk::Copied::ledger);
  } else if (dies_of_->kind == Kind::state_older) {
    disk_->put_back(dies_of_->at, RehearsedDisk::Copied::all);
    oracle_.people().state_put_back();
  } else if (dies_of_->kind == Kind::state_moved) {
    plan_.home.path += "/moved";
  } else if (dies_of_->kind == Kind::ledger_damaged) {
    disk_->damage_ledger(dies_of_->value);
  }
}

void Rehearsal::post_late(std::function<void()> what) {
  const auto& late = active_.find(Kind::replies_late);
  if (late) {
    late_.push_back({world_ + seconds_of(std::max(late->value, 0.0)), std::move(what)});
  } else {
    posted_.push_back(std::move(what));
  }
}

void Rehearsal::run_posted() {
  for (; !late_.empty() && late_.front().due <= world_; late_.pop_front()) {
    posted_.push_back(std::move(late_.front().what));
  }
  while (!posted_.empty() && !dead_) {
    const auto what = std::move(posted_.front());
    posted_.pop_front();
    what();
  }
}

void Rehearsal::recover() {
  if (!ledger_faulty_ || world_ < reopen_at_) {
    return;
  }
  reopen_at_ = world_ + kReopenEvery;
  if (const auto opened = disk_->open(boot())) {
    ledger_faulty_ = false;
    tell(opened->notes);
    told(shell::ledger_sound(clock_.moment.wall));
    program_->recover(opened->history);
  }
}

void Rehearsal::run_program() {
  shown_ = probes_.sample(active_, world_);
  program_->observe(station::ProbeSample{rules::Role::ph, shown_.ph});
  program_->observe(station::ProbeSample{rules::Role::temperature, shown_.temperature});
  if (plan_.settings.second_ph) {
    program_->observe(station::ProbeSample{rules::Role::second_ph, shown_.second_ph});
  }
  observed_stirrer();
  usual_inputs();
  disk_->second(world_);
  run_posted();
  program_->step();
  run_posted();
  recover();
  run_posted();
  visit();
  from_afar();
  test_alkalinity();
  run_posted();
  if (world_ % 1min == Duration::zero()) {
    recorded_boot_ = boot_;
    recorded_ = program_->core().seen();
    recorded_at_ = world_;
  }
  if (plan_.each_second && !dead_) {
    plan_.each_second(program_->core(), clock_.moment);
  }
  if (dead_) {
    bury_program();
  }
}

void Rehearsal::second() {
  world_ += 1s;
  clock_.moment.mono += 1s;
  clock_.moment.wall += 1s;
  // The world has a clock of its own: neither boots nor clock steps touch it.
  tank_.advance({kWorldBegins + world_, plan_.start + world_});
  watch_exposure();
  oracle_.begin_second(world_);
  begin_and_end_faults();
  boards();
  if (program_) {
    run_program();
  } else if (world_ >= down_until_) {
    come_back();
  }
  watch();
}

void Rehearsal::finish() {
  for (const Kind kind : exposure_.open()) {
    active_.end(kind);
    (void)exposure_.end(kind);  // cut short by the end of the course: measured, not judged
  }
  outcome_.lasted = world_;
  outcome_.planned =
      plan_.settings.plan.day_volume * (std::chrono::duration<double>(world_).count() / 86400.0);
  outcome_.delivered = tank_.delivered();
  outcome_.powder_g_end = tank_.reactor().powder_g();
  outcome_.alkalinity_end = dkh_of(tank_);
  outcome_.longest_silence = oracle_.longest_pause();
  outcome_.exposures = exposure_.exposures();
  outcome_.faults = plan_.faults;
  if (flow_unexplained_ml_ > kUnexplainedMl) {
    oracle_.broken(Promise::flow_explained, fmt::format("{:.1f} mL", flow_unexplained_ml_));
  }
  if (program_ && healed() && !waits_for_person()) {
    oracle_.must_dose_again(world_ - healed_at_);
  }
  outcome_.violations = oracle_.violations();
}

bool Rehearsal::healed() const {
  return !dies_of_ && std::all_of(plan_.faults.begin(), plan_.faults.end(),
                                  [&](const Fault& fault) { return !active_.has(fault.kind); });
}

bool Rehearsal::waits_for_person() const {
  const rules::Holds& holds = program_->core().holds();
  return std::any_of(holds.begin(), holds.end(), [](const rules::Hold& hold) {
    return rules::clears(hold) == rules::Clears::by_person;
  });
}

tl::expected<Outcome, std::string> Rehearsal::run() {
  if (plan_.files) {
    disk_ = std::make_unique<RehearsedDisk>(*plan_.files, plan_.settings.name);
  } else if (auto disk = RehearsedDisk::make(plan_.scratch, plan_.settings.name, boot())) {
    disk_ = std::move(*disk);
  } else {
    return tl::unexpected(disk.error());
  }
  disk_->serve({[this] { return acts(); },
                [this](std::function<void()> what) { posted_.push_back(std::move(what)); },
                [this](std::int64_t pulse) { note_row(pulse); },
                [this](Duration took) { oracle_.news().row_written(world_, took); },
                [this] { oracle_.news().row_refused(); }});
  start_program();
  run_posted();
  while (world_ < plan_.lasting) {
    second();
  }
  finish();
  return std::move(outcome_);
}

void Rehearsal::note_row(std::int64_t pulse) {
  const auto counted = disk_->counted(pulse);
  oracle_.row_written(pulse, counted);
  const Millilitres before = pulse == counted_pulse_ ? counted_of_pulse_ : Millilitres{};
  counted_pulse_ = pulse;
  counted_of_pulse_ = counted.value_or(Millilitres{});
  outcome_.counted += counted_of_pulse_ - before;
}

}  // namespace limegate::rehearsal
