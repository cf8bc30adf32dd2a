// What people do at a rehearsed station.

#include <chrono>

#include "rehearsal/rehearsal.h"

namespace limegate::rehearsal {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

}  // namespace

void Rehearsal::visit() {
  if (plan_.keeper == Plan::Keeper::away) {
    return;
  }
  // Every third time the lines are primed while pulses are due, with more or less than fits.
  if (world_ % 36h == 9h + 50min) {
    const Millilitres most = station::attended_most(plan_.settings);
    (void)program_->command(
        station::RunAttended{most / (1.0 + static_cast<double>(world_ / 36h % 3))},
        station::Origin::station);
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

void Rehearsal::release(const std::string& code) {
  if (program_->command(station::Release{code}, station::Origin::station).verdict ==
      station::Answer::Verdict::accepted) {
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
  } else if (program_->command(station::SwitchAllOff{}, station::Origin::station).verdict ==
             station::Answer::Verdict::accepted) {
    oracle_.all_off_promised(!ledger_faulty_ && !dead_);
  }
}

}  // namespace limegate::rehearsal
