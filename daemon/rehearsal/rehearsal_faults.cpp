// What each fault does to the rehearsed world, and what heals with it.

#include <algorithm>
#include <chrono>

#include "rehearsal/rehearsal.h"

namespace limegate::rehearsal {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using Kind = Fault::Kind;

constexpr Duration kForEver = 24h * 3660;
constexpr double kMmolPerDkhAndLitre = 20.0 / 56.0774 / 2.0;  ///< of sodium carbonate
constexpr double kMilkEveryMinutesMin = 1.0;
/// In an analogue input's own unit: beyond what a rule may wait for.
constexpr double kFarFromUsual = 1000.0;

/// What moves the pH, hides what the pump does or keeps it from flowing, so that a physical fault
/// can't be judged beside it: of a welded relay, say, one is told before a dead pump flows again.
bool disturbs(Kind kind) {
  return kind == Kind::pump_dead || kind == Kind::pump_relay_dead || kind == Kind::hand_dosed ||
         kind == Kind::precipitation || kind == Kind::room_co2 || kind == Kind::bus_silent ||
         kind == Kind::outlets_silent || kind == Kind::replies_lost || puts_down(kind);
}

}  // namespace

void Rehearsal::begin(const Fault& fault) {
  active_.begin(fault);
  if (about(fault.kind).physical == FaultKind::Physical::yes) {
    exposure_.begin(fault, tank_.aquarium().display().ph_nbs);
  }
  const auto& kinds = fault_kinds();
  if (std::any_of(kinds.begin(), kinds.end(), [&](const FaultKind& kind) {
        return disturbs(kind.kind) && active_.has(kind.kind);
      })) {
    exposure_.disturb();
  }
  if (puts_down(fault.kind)) {
    dies_of_ = fault;
    const bool between_acts = fault.kind == Kind::ledger_older || fault.kind == Kind::state_older ||
                              fault.kind == Kind::state_moved || fault.kind == Kind::ledger_damaged;
    acts_left_ = between_acts ? 0 : static_cast<std::int64_t>(fault.value);
    dead_ = acts_left_ <= 0;
  } else if (fault.kind == Kind::clock_step) {
    clock_.moment.wall += minutes_of(60.0 * fault.value);
    oracle_.people().clock_moved();
  } else if (fault.kind == Kind::hand_dosed) {
    tank_.aquarium().add_sodium_carbonate(fault.value * kMmolPerDkhAndLitre *
                                          tank_.aquarium().volume().count());
  } else if (fault.kind == Kind::precipitation) {
    tank_.aquarium().stir_up_crystals(MgPerLitre{fault.value});
  } else if (fault.kind == Kind::switched_off) {
    switch_all_off();
  } else if (fault.kind == Kind::pump_switched) {
    if (!condition(Part::pump).welded) {
      tank_.run_for(Part::pump, std::min(seconds_of(fault.value), fault.lasting));
    }
  } else if (fault.kind == Kind::clock_unset) {
    clock_.moment.wall -= minutes_of(60.0 * fault.value);
    clock_.moment.wall_trusted = false;
    oracle_.people().clock_moved();
  } else {
    change_world(fault.kind, fault.value);
  }
  if (fault.lasting == Duration::zero()) {
    active_.end(fault.kind);
    healed_at_ = world_;
  }
}

void Rehearsal::change_world(Kind kind, std::optional<double> fault) {
  if (kind == Kind::pump_stuck_on || kind == Kind::stirrer_stuck_on) {
    const Part part = kind == Kind::pump_stuck_on ? Part::pump : Part::stirrer;
    if (fault) {
      tank_.run_for(part, kForEver);
    } else {
      tank_.off(part);
    }
  } else if (kind == Kind::pump_overrun) {
    tank_.set_overrun(std::chrono::duration_cast<Duration>(
        std::chrono::duration<double>(std::max(fault.value_or(0.0), 0.0))));
  } else if (kind == Kind::board_timer_fails && !fault && !condition(Part::pump).welded) {
    tank_.off(Part::pump);  // its timer works again, and what it had to end is long due
  } else if (kind == Kind::siphon) {
    tank_.set_siphon(MillilitresPerMinute{fault.value_or(0.0)});
  } else if (kind == Kind::stirrer_dead) {
    using Motor = simulator::Tank::Motor;
    tank_.set_stirrer_motor(fault ? Motor::stands : Motor::turns);
  } else if (kind == Kind::powder_spent) {
    tank_.reactor().set_powder(fault ? 0.0 : plan_.tank.reactor.powder_g);
  } else if (kind == Kind::limewater_spoiled) {
    tank_.reactor().set_spoiled(fault ? Percent{*fault} : plan_.tank.reactor.spoiled);
  } else if (kind == Kind::top_off) {
    tank_.aquarium().set_top_off(fault ? std::optional{MillilitresPerMinute{*fault}}
                                       : std::nullopt);
  } else if (kind == Kind::room_co2) {
    tank_.aquarium().set_room_co2(fault.value_or(plan_.tank.aquarium.room_co2_ppm));
  } else if (kind == Kind::disk_full) {
    disk_->set_room(fault ? RehearsedDisk::Room::none : RehearsedDisk::Room::enough);
  } else if (kind == Kind::disk_slow) {
    disk_->set_write_takes(seconds_of(std::max(fault.value_or(0.0), 0.0)));
  }
}

void Rehearsal::end(const Fault& fault) {
  active_.end(fault.kind);
  healed_at_ = world_;
  for (const std::string& passed : exposure_.end(fault.kind)) {
    oracle_.broken(Promise::fault_bounded, passed);
  }
  if (fault.kind == Kind::switched_off) {
    if (program_) {
      release(rules::code_of(rules::SwitchedOff{}));
    }
  } else if (fault.kind == Kind::clock_unset) {
    clock_.moment.wall += minutes_of(60.0 * fault.value);
    clock_.moment.wall_trusted = true;
  } else {
    change_world(fault.kind, std::nullopt);
  }
}

void Rehearsal::begin_and_end_faults() {
  for (const Fault& fault : plan_.faults) {
    if ((fault.kind == Kind::ledger_older || fault.kind == Kind::state_older) &&
        world_ == std::max<Duration>(fault.at - std::chrono::floor<std::chrono::seconds>(
                                                    minutes_of(60.0 * fault.value)),
                                     1s)) {
      disk_->copy_state(fault.at);
    }
    const auto& active = active_.find(fault.kind);
    if (active && active->at == fault.at && !puts_down(fault.kind) &&
        world_ == fault.at + fault.lasting) {
      end(fault);
    }
    if (world_ == fault.at && !active && (!puts_down(fault.kind) || (program_ && !dies_of_))) {
      begin(fault);
    }
  }
}

void Rehearsal::come_back() {
  if (dies_of_->kind == Kind::power_cut) {
    clock_.moment.mono = Instant{20s};
    oracle_.rebooted();
    // The power is back, and so is the current through welded contacts.
    for (const Kind welded : {Kind::pump_stuck_on, Kind::stirrer_stuck_on}) {
      if (const auto& fault = active_.find(welded)) {
        change_world(welded, fault->value);
      }
    }
    boot_ = plan_.boot + "-" + std::to_string(outcome_.restarts + 1);
  }
  active_.end(dies_of_->kind);
  dies_of_.reset();
  healed_at_ = world_;
  start_program();
  run_posted();
}

void Rehearsal::boards() {
  const auto& fast = active_.find(Kind::pump_fast);
  const auto& worn = active_.find(Kind::pump_worn);
  double factor = active_.has(Kind::pump_dead) ? 0.0 : fast ? fast->value : 1.0;
  if (worn) {
    const double days = std::chrono::duration<double, std::ratio<86400>>(world_ - worn->at).count();
    factor *= std::max(0.0, 1.0 - worn->value / 100.0 * days);
  }
  rate_factor_ = factor;
  tank_.set_pump_factor(factor);
  if (const auto& milk = active_.find(Kind::milk)) {
    const auto every = std::chrono::duration_cast<Duration>(
        std::chrono::duration<double, std::ratio<60>>(std::max(milk->value, kMilkEveryMinutesMin)));
    if ((world_ - milk->at) / 1s % (every / 1s) == 0) {
      tank_.reactor().stir();
    }
  }
  const auto fall_off = [&](Part part) {
    if (!condition(part).welded) {
      tank_.off(part);
    }
  };
  if (program_ && !active_.outlets_silent()) {
    heard_at_ = world_;
    for (auto ends = driver_ends_.begin(); ends != driver_ends_.end();) {
      // Within this second: the part of it that is left flows.
      if (world_ + 1s > ends->second) {
        const Duration left = ends->second - world_;
        if (left <= Duration::zero()) {
          fall_off(ends->first);
        } else if (!condition(ends->first).welded &&
                   tank_.state(ends->first) == ports::OutletState::on) {
          tank_.run_for(ends->first, left);
        }
        if (!condition(ends->first).welded) {
          driver_off_[ends->first == Part::pump ? 0 : 1] =
              clock_.moment.mono + std::max(left, Duration::zero());
        }
        ends = driver_ends_.erase(ends);
      } else {
        ++ends;
      }
    }
  } else if (plan_.boards.communication_loss &&
             world_ - heard_at_ >= *plan_.boards.communication_loss) {
    fall_off(Part::pump);
    fall_off(Part::stirrer);
  }
  if (plan_.settings.stirrer == station::StirrerKind::observed) {
    // The stirrer hangs on a timer of its own.
    const dosing::StirCycle& cycle = plan_.settings.plan.stir;
    if (world_ % cycle.every == Duration::zero()) {
      tank_.run_for(Part::stirrer, cycle.run);
    }
  }
}

void Rehearsal::observed_stirrer() {
  if (plan_.settings.stirrer == station::StirrerKind::observed) {
    const bool on = tank_.state(Part::stirrer) == ports::OutletState::on;
    const auto& stuck = active_.find(Kind::stirrer_input_stuck);
    program_->observe_stirrer({active_.has(Kind::bus_silent)
                                   ? std::nullopt
                                   : std::optional{stuck ? stuck->value >= 0.5 : on}});
  }
}

void Rehearsal::usual_inputs() {
  // What the owner's rules look at is well for as long as somebody can say so.
  const std::vector<rules::Input>& inputs = plan_.settings.owner.inputs;
  const auto& gap = active_.find(Kind::inputs_silent);
  const bool back = gap && world_ >= gap->at + gap->lasting - minutes_of(gap->value);
  const bool silent =
      active_.has(Kind::bus_silent) || active_.has(Kind::replies_lost) || (gap && !back);
  const auto& change = active_.find(Kind::inputs_change);
  // Of a number one change is far above, and the next far below.
  const auto times =
      change
          ? std::optional{(world_ - change->at) / std::max(minutes_of(change->value), Duration{1s})}
          : std::nullopt;
  const bool changed = back || (times && *times % 2 == 0);
  const double away = times && *times % 4 == 2 ? -kFarFromUsual : kFarFromUsual;
  for (std::size_t i = rules::OwnerRulebook::kFirstOwn; i < inputs.size(); ++i) {
    const rules::Input& input = inputs[i];
    const bool digital = input.kind == rules::Input::Kind::digital;
    const double other = digital ? 1.0 - input.usual : input.usual + away;
    const auto shown = silent ? std::nullopt : std::optional{changed ? other : input.usual};
    if (shown) {
      program_->observe(station::InputSample{i, *shown});
    }
    oracle_.people().input_shown(i, world_, shown);
  }
}

}  // namespace limegate::rehearsal
