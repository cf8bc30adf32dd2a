#pragma once

#include <cstdint>
#include <string>
#include <variant>
#include <vector>

#include "dosing/volumes_in_force.h"
#include "rules/hold.h"
#include "signal/day_course.h"
#include "station/records.h"

namespace limegate::station {

/// Write this row durably, then tell `PulseDurable` or `LedgerFault`.
struct AppendPulse {
  PulseRecord pulse;
};
struct ClosePulse {
  std::int64_t id;
  Fate fate;
  Millilitres counted;
};
/// Write this row durably, then tell `StirDurable` or `LedgerFault`.
struct AppendStir {
  StirRecord stir;
};
struct CloseStir {
  std::int64_t id;
  dosing::Stamp end;
};
/// Keep this latch over restarts (or forget it).
struct StoreLatch {
  std::string code;
  enum class To { latched, released } to;
};
/// Keep what the keeper asked for over restarts (or forget it).
struct StoreWish {
  Wish wish;
};
struct ForgetWish {
  Wish::What what;
};
/// Keep what was learned of a quarter of an hour of the day.
struct StoreQuarter {
  int quarter;
  signal::DayCourse::Quarter learned;
};
/// Forget what was learned of the usual course of the day.
struct ForgetCourse {};
/// Keep what was learned of the effect of doses.
struct StoreEffect {
  LearnedEffect learned;
};
/// Keep what a cycle's doses did.
struct StoreCycle {
  DoseCycle cycle;
};
/// Forget what the cycles so far did.
struct ForgetCycles {};
/// Keep what of the doses was held against chemistry.
struct StoreAnchor {
  LearnedAnchor learned;
};
/// From now on this day's volume is in force.
struct StoreVolumeInForce {
  dosing::VolumeInForce volume;
};
/// Keep the reference of pH and the eased volume.
struct StoreReference {
  LearnedReference learned;
};
/// Keep this entry of the keeper's book, in place of the one of its number if there is one; then
/// tell `BookEntryDurable`.
struct StoreBookEntry {
  BookEntry entry;
};
/// Through the guard: run the outlet for `duration`, unless `send_before` has passed.
struct Run {
  rules::OutletRole role;
  std::int64_t id;
  Duration duration;
  Instant send_before;
};
struct SwitchOff {
  rules::OutletRole role;
};
struct ReadBack {
  rules::OutletRole role;
};
struct Raise {
  Event event;
};

using AnyEffect = std::variant<AppendPulse, ClosePulse, AppendStir, CloseStir, StoreLatch,
                               StoreWish, ForgetWish, StoreQuarter, ForgetCourse, StoreEffect,
                               StoreCycle, ForgetCycles, StoreAnchor, StoreReference,
                               StoreVolumeInForce, StoreBookEntry, Run, SwitchOff, ReadBack, Raise>;
/// Copies and ends are compiled once, as those of a hold.
struct Effect : AnyEffect {
  using AnyEffect::AnyEffect;
  Effect(const Effect&);
  Effect(Effect&&) noexcept;
  Effect& operator=(const Effect&);
  Effect& operator=(Effect&&) noexcept;
  ~Effect();
};
/// Everything among them that is written down durably.
using Entry =
    std::variant<AppendPulse, ClosePulse, AppendStir, CloseStir, StoreLatch, StoreWish, ForgetWish,
                 StoreQuarter, ForgetCourse, StoreEffect, StoreCycle, ForgetCycles, StoreAnchor,
                 StoreReference, StoreVolumeInForce, StoreBookEntry>;
/// To be carried out in order.
using Effects = std::vector<Effect>;

}  // namespace limegate::station
