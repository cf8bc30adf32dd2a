// What people do at a rehearsed station.

#include <algorithm>
#include <array>
#include <chrono>
#include <cstddef>
#include <cstdint>

#include <fmt/format.h>

#include "care/upkeep.h"
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
  if (world_ % 132h == 15h) {
    constexpr Duration lasting = 1h;
    if (accepted(station::Service{lasting})) {
      oracle_.people().paused_until(world_ + lasting, PeopleJudge::For::work_at_the_reactor);
    }
  }
  if (world_ % 84h == 11h) {
    (void)accepted(station::StirNow{});
  }
  if (world_ % 100h == 21h + 30min) {
    set_day_volume(world_ / 100h % 2 == 0 ? 0.5 : 1.0);
  }
  if (world_ % 12h != 8h) {
    return;
  }
  const station::Status status = program_->core().status(clock_.moment);
  // What is due is done, as far as a word in the book says so.
  for (const care::UpkeepItem& item : status.upkeep) {
    if (item.state == care::UpkeepItem::State::due && item.chore != care::Chore::refill) {
      (void)accepted(
          station::WriteEntry{{{}, std::string{care::entry_of(item.chore)}, "", "", ""}});
    }
  }
  for (const station::Status::Held& held : status.holds) {
    if (held.clears == rules::Clears::by_person) {
      release(held.code);
    }
  }
}

bool Rehearsal::accepted(const station::Command& command, station::Origin origin) {
  return program_->command(command, origin).verdict == station::Answer::Verdict::accepted;
}

/// `share` = of the file's.
void Rehearsal::set_day_volume(double share) {
  const Millilitres volume = plan_.settings.plan.day_volume * share;
  if (accepted(station::SetDayVolume{volume})) {
    oracle_.people().day_volume_set(world_, volume);
  }
}

/// Whatever a dashboard can send, and much that it may not.
void Rehearsal::from_afar() {
  const Millilitres most = plan_.settings.plan.day_volume;
  constexpr auto afar = station::Origin::afar;
  const auto& fault = active_.find(Kind::afar_commands);
  if (!fault) {
    if (volume_from_afar_) {
      const Millilitres all = program_->core().status(clock_.moment).day_volume_at_station;
      volume_from_afar_ = !accepted(station::SetDayVolume{all}, afar);
    }
    return;
  }
  volume_from_afar_ = true;
  const auto every = static_cast<std::int64_t>(std::max(fault->value, 1.0));
  const std::int64_t second = (world_ - fault->at) / 1s;
  if (second % every != 0) {
    return;
  }
  const std::array<station::Command, 12> all{station::Pause{20min},
                                             station::SetDayVolume{most * 10.0},
                                             station::Resume{},
                                             station::RunAttended{Millilitres{200.0}},
                                             station::SetDayVolume{most},
                                             station::SetDayVolume{most * (1.0 / 3.0)},
                                             station::Resume{},
                                             station::StirNow{},
                                             station::SetDayVolume{Millilitres{0.0}},
                                             station::Release{"ph-second-ceiling"},
                                             station::Relearn{},
                                             station::ConfirmRate{Millilitres{1.0}}};
  (void)accepted(all.at(static_cast<std::size_t>(second / every) % all.size()), afar);
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

/// Until it is taken: a program that is down, or whose ledger or clock is not sound, takes none.
void Rehearsal::test_alkalinity() {
  const auto& fault = active_.find(Kind::alkalinity_tested);
  const bool begins = fault && !tested_;
  if (!begins && (fault || !tested_)) {
    return;
  }
  constexpr Dkh ordinary{8.0};
  const Dkh level = begins ? Dkh{fault->value} : plan_.settings.water.alkalinity.value_or(ordinary);
  const station::WriteEntry test{{{}, "alkalinity", fmt::format("{}", level.count()), "dKH", ""},
                                 {},
                                 station::WriteEntry::Said::again};
  if (accepted(test)) {
    tested_ = begins ? std::optional{fault->value} : std::nullopt;
    if (!begins) {
      oracle_.released("alkalinity-too-high");
    }
    oracle_.alkalinity_tested(level, !ledger_faulty_ && !dead_ && !active_.has(Kind::disk_full) &&
                                         !active_.has(Kind::disk_slow));
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
