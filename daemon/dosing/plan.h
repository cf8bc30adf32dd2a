#pragma once

#include <optional>

#include "dosing/spread.h"
#include "units/quantities.h"
#include "units/time.h"

namespace limegate::dosing {

/// The stirrer's rhythm.
struct StirCycle {
  Duration run = std::chrono::minutes{15};
  Duration every = std::chrono::minutes{120};  ///< from start to start
};

/// The facts and wishes from which the day's pulses follow.
struct PlanSettings {
  Millilitres day_volume;
  Millilitres pulse_max;
  MillilitresPerMinute pump_rate;  ///< the highest plausible one
  Duration pulse_duration_max = std::chrono::seconds{120};
  Duration timer_step{};  ///< of the board that ends a pulse; zero: a pulse may last any time
  StirCycle stir;
  Duration settle = std::chrono::minutes{60};
  Millimetres reactor_bore{100.0};  ///< inner diameter
  Spread spread = Spread::even;
  HoursOfDay night{std::chrono::hours{22}, std::chrono::hours{8}};  ///< of Spread::night
  double night_share = 0.7;                                         ///< of the day's volume; 0 .. 1
  enum class Missed { dropped, made_up } missed = Missed::dropped;
};

/// What a plan comes to, by plain arithmetic.
struct PlanShape {
  Duration clear_window{};     ///< of each stir cycle: every - run - settle; may be negative
  double windows_per_day = 0;  ///< 24 h / every
  Millilitres window_volume;   ///< that its pulses come to
  int pulses_per_window = 0;   ///< zero when nothing is to be given
  Millilitres pulse_volume;    ///< of the largest one
  int steps = 0;               ///< of the board's timer, in all of them; zero: it has none
  Duration pulse_duration{};   ///< at the highest plausible pump rate
  Duration slot{};             ///< each pulse's share of the window
  Millilitres hour_volume;     ///< the most that falls into any sliding hour
};

/// What each clear window gives if all give the same: the day's volume / windows a day.
[[nodiscard]] Millilitres even_share(const PlanSettings& settings);

/// The shape of a window that is to give `volume`: as much of it as whole steps of the board's
/// timer come to. Pure. A plan without a clear window has no pulses.
[[nodiscard]] PlanShape shape_within(const PlanSettings& settings, Millilitres volume);
/// The same of a window that takes `weight` times the even share, and what windows before it could
/// not give in whole steps: the most that it may come to.
[[nodiscard]] PlanShape shape_of(const PlanSettings& settings, double weight = 1.0);

/// The smallest pulse: one step of the board's timer. Zero where a pulse may last any time.
[[nodiscard]] Millilitres least_pulse(const PlanSettings& settings);
/// What the pump gives in the longest time it may run at once.
[[nodiscard]] Millilitres longest_pulse(const PlanSettings& settings);
/// The largest pulse of whole steps that is not above `volume`, and one step at least.
[[nodiscard]] Millilitres in_whole_steps(Millilitres volume, const PlanSettings& settings);
/// How long the pump runs for it: whole steps of the board's timer, rounded to the nearest.
[[nodiscard]] Duration duration_of(Millilitres volume, const PlanSettings& settings);

/// When the limewater is clear: from the end of the settling to the next stir.
struct Window {
  Instant open;
  Instant close;
};

/// One pulse's place in a clear window. A slot is used at most once.
struct Slot {
  Instant window_open;
  int index = 0;
  friend bool operator==(const Slot&, const Slot&) = default;
};

/// The slot that is due at `now` in the window from `open` to `close`, if any. A slot is due from
/// its middle to its end, as long as the pulse still ends before the window closes.
[[nodiscard]] std::optional<Slot> due_slot(const PlanShape& shape, Instant open, Instant close,
                                           Instant now);

/// Of the pulse in the slot of that index. A window's pulses differ by one step of the board's
/// timer at most.
[[nodiscard]] Millilitres volume_of(const PlanShape& shape, int index,
                                    const PlanSettings& settings);

/// When the next pulse after `now` is planned in this window, for display.
[[nodiscard]] std::optional<Instant> next_due(const PlanShape& shape, Instant open, Instant close,
                                              Instant now);

/// The mean upward speed of the water in the reactor while `volume` is pushed through within
/// `window`. Units: mm/h; `bore` is the inner diameter in mm.
[[nodiscard]] MillimetresPerHour mean_upflow(Millilitres volume, Duration window, Millimetres bore);

/// How long pulse and handling may take after the pulse was due: the commit, the wire, the pulse.
constexpr Duration kPulseExpiry = std::chrono::seconds{2};

}  // namespace limegate::dosing
