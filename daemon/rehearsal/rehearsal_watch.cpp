// What is measured of each second of a rehearsal, and what the judge is told of it.

#include <algorithm>
#include <chrono>

#include "chemistry/keeper_units.h"
#include "rehearsal/rehearsal.h"

namespace limegate::rehearsal {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using Kind = Fault::Kind;

constexpr double kGramsPerMol = 74.093;  // Ca(OH)2 (IUPAC)

}  // namespace

void Rehearsal::watch_exposure() {
  const double delivered = tank_.delivered().count();
  const double carried = tank_.carried_mmol();
  flowed_ = Millilitres{delivered - delivered_before_};
  const Millilitres commanded = oracle_.flows_by_command();
  const bool down = !program_;
  exposure_.second(
      {world_, flowed_, commanded, carried - carried_before_, tank_.aquarium().display().ph_nbs,
       !down,
       std::any_of(waits_for_person_.begin(), waits_for_person_.end(),
                   [](const std::string& code) { return code.starts_with("pump-"); })});
  delivered_before_ = delivered;
  carried_before_ = carried;
  outcome_.powder_carried_g = carried * kGramsPerMol / 1000.0;
  // A board without a timer of its own goes on until the program is back.
  if (!exposure_.explains() && (plan_.boards.pump_timed || !down)) {
    flow_unexplained_ml_ += std::max(0.0, (flowed_ - commanded).count());
  }
}

void Rehearsal::watch() {
  const double ph = tank_.aquarium().ph().count();
  outcome_.ph_low = std::min(outcome_.ph_low, ph);
  outcome_.ph_high = std::max(outcome_.ph_high, ph);
  if (world_ % 1min == Duration::zero()) {
    outcome_.cloud_highest = std::max(outcome_.cloud_highest, tank_.aquarium().cloud());
    half_hour_.push_back(ph);
    if (half_hour_.size() > 31) {
      half_hour_.pop_front();
    }
    outcome_.rise_30min =
        std::max(outcome_.rise_30min, ph - *std::min_element(half_hour_.begin(), half_hour_.end()));
  }
  judge_second();
  const chemistry::CarbonateState& water = tank_.aquarium().display();
  const KgPerLitre density = tank_.aquarium().density();
  outcome_.trace.add(
      {ph, program_ ? shown_.ph : std::nullopt, flowed_.count(), tank_.reactor().powder_g(),
       tank_.stirs(), program_ ? &program_->core().holds() : nullptr,
       chemistry::to_dkh(chemistry::to_meq_per_litre(water.alkalinity, density)).count(),
       chemistry::to_mg_per_litre(water.calcium, density).count()});
  if (series_) {
    series_->second({world_, plan_.start + world_, program_ ? shown_ : RehearsedProbes::Shown{},
                     flowed_, program_ ? &program_->core().holds() : nullptr},
                    tank_);
  }
  if (program_) {
    for (const rules::Hold& hold : program_->core().holds()) {
      outcome_.held[rules::code_of(hold)] += 1s;
    }
  }
}

void Rehearsal::judge_second() {
  Oracle::World world;
  world.program_runs = program_ != nullptr;
  world.stirs = tank_.stirs();
  world.stirrer_relay_on = tank_.state(Part::stirrer) == ports::OutletState::on;
  world.pump_relay_on = tank_.state(Part::pump) == ports::OutletState::on;
  world.board_obeys = !active_.outlets_silent() && !active_.has(Kind::replies_lost) &&
                      !active_.has(Kind::pump_stuck_on);
  world.flowed = flowed_;
  world.sees_well = active_.none_but(Kind::siphon);
  world.rate_factor = rate_factor_;
  world.otherwise_well = active_.none_but(Kind::pump_fast);
  world.write_takes = disk_->write_takes();
  world.writes = !active_.has(Kind::disk_full) && !active_.has(Kind::disk_slow) && !ledger_faulty_;
  world.stirrer_told = !active_.has(Kind::stirrer_input_stuck) ||
                       plan_.settings.stirrer == station::StirrerKind::switched;
  using Board = NewsJudge::Second::Board;
  world.board = active_.outlets_silent() || active_.has(Kind::replies_lost) ? Board::silent
                : active_.has(Kind::replies_late)                           ? Board::late
                                                                            : Board::answers;
  if (program_) {
    world.ph = shown_.ph;
    world.second_ph = shown_.second_ph;
    world.temperature = shown_.temperature;
    waits_for_person_.clear();
    for (const rules::Hold& hold : program_->core().holds()) {
      if (rules::clears(hold) == rules::Clears::by_person) {
        waits_for_person_.push_back(rules::code_of(hold));
      }
    }
    world.waits_for_person = &waits_for_person_;
  }
  oracle_.second(world);
}

}  // namespace limegate::rehearsal
