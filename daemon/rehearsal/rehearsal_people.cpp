// What people do at a rehearsed station.

#include <chrono>

#include "rehearsal/rehearsal.h"

namespace limegate::rehearsal {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using Kind = Fault::Kind;

}  // namespace

void Rehearsal::visit() {
  if (plan_.keeper == Plan::Keeper::away) {
    return;
  }
  // Every third time the lines are primed while pulses are due, with more or less than fits.
  if (world_ % 36h == 9h + 50min) {
    const Millilitres most = station::attended_most(plan_.settings);
    const Millilitres asked = most / (1.0 + static_cast<double>(world_ / 36h % 3));
    if (accepted(station::RunAttended{asked})) {
      oracle_.people().attended_run(world_, asked);
    }
  }
  if (world_ % 60h == 20h) {
    pause();
  }
  if (world_ % 12h != 8h) {
    return;
  }
  for (const station::Status::Held& held : program_->core().status(clock_.moment).holds) {
    if (held.clears == rules::Clears::by_person) {
      release(held.code);
    }
  }
}

bool Rehearsal::accepted(const station::Command& command) {
  return program_->command(command, station::Origin::station).verdict ==
         station::Answer::Verdict::accepted;
}

/// For some hours, another time for longer.
void Rehearsal::pause() {
  const Duration lasting = 2h * (1 + world_ / 60h % 3);
  if (accepted(station::Pause{lasting})) {
    oracle_.people().paused_until(world_ + lasting);
  }
}

void Rehearsal::release(const std::string& code) {
  if (accepted(station::Release{code})) {
    oracle_.released(code);
  }
}

/// As `limegate off` does on a line that the program holds, if it runs: it asks the program.
void Rehearsal::switch_all_off() {
  if (!program_) {
    for (const Part part : {Part::pump, Part::stirrer}) {
      const RehearsedOutlet::Condition now = condition(part);
      if (!now.silent && !now.welded) {
        tank_.off(part);
      }
    }
  } else if (accepted(station::SwitchAllOff{})) {
    oracle_.people().all_off_promised(world_, !ledger_faulty_ && !dead_ &&
                                                  !active_.has(Kind::disk_full) &&
                                                  !active_.has(Kind::disk_slow));
  }
}

}  // namespace limegate::rehearsal
