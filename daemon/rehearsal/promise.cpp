#include "rehearsal/promise.h"

#include <fmt/format.h>

#include "units/visitor.h"

namespace limegate::rehearsal {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

constexpr int kLinesOfEach = 3;

using P = Promise;
constexpr PromiseTable kTable{{
    {P::settled, "the pump was commanded while the limewater was stirred or had not settled",
     "2 s: the program may stop stirring within the second of the command",
     "settle-halved (three layers)"},
    {P::stirrer_heard, "a pulse although the stirrer has kept no rhythm for long",
     "a cycle and an hour: it may be late once", "stirrer-silence-believed (two layers)"},
    {P::fresh, "a pulse without a fresh reading",
     "3 s beyond the file's limit: a decision, its row and the wire",
     "stale-is-good (both layers)"},
    {P::fresh_flowing, "the pump went on without a fresh pH",
     "3 s beyond the file's limit: the next second, the command and its answer",
     "silence-in-mid-pulse-is-good"},
    {P::plausible, "a pulse with an implausible reading", "none but the second that it is seen in",
     "implausible-is-good (both layers)"},
    {P::plausible_flowing, "the pump went on while an implausible pH was shown",
     "3 s: the next second, the command and its answer",
     "implausible-in-mid-pulse-is-good (two layers)"},
    {P::not_stuck, "a pulse with a stuck reading", "60 s: it is seen in its own time",
     "stuck-is-good"},
    {P::steady, "a pulse soon after the reading jumped",
     "35 s of the 5 min: after a jump nothing before it is compared with", "jump-is-good"},
    {P::calm, "a pulse before the probe was calm again after the last",
     "3 s: a pulse ends within a second, and the off is confirmed later", "calm-not-waited-for"},
    {P::proven, "a pulse before the probes had proved themselves",
     "2 s; a gap or an implausible value begins it anew", "proof-not-waited-for"},
    {P::agreeing, "a pulse while the two pH probes differ",
     "1 min and 0.02, both steady and with the same sign all the time: filters, and last digits",
     "disagreement-ignored"},
    {P::below_ceiling, "a pulse above the ceiling", "60 s: no filter takes longer to follow",
     "ceiling-ignored (two layers)"},
    {P::ends_at_ceiling, "the pump went on above the ceiling",
     "3 s: the next second, the command and its answer", "ceiling-closes-late (two layers)"},
    {P::second_ceiling, "a pulse after the second ceiling that nobody released",
     "60 s above it: the latch goes by a filtered value", "second-ceiling-does-not-latch"},
    {P::no_climb, "a pulse although pH had climbed by more than the limit within its time",
     "0.02, and 4 min of the window: all that was shown in the last minute is above all that was "
     "shown in some calm minute of the window, so any filter shows it",
     "climb-ignored"},
    {P::climb_watched, "a pulse although nobody had watched the climb since the boot",
     "1 min of the window", "unknown-climb-is-none"},
    {P::no_foreign_climb, "a pulse although limewater beyond all commands had raised pH",
     "two fifths of the limit beyond 0.03 an hour, reckoned at the least that it can be; only with "
     "a learned "
     "course, and "
     "nothing else at fault",
     "unusual-climb-ignored (three layers)"},
    {P::not_risen, "three quarters of the plan in a day that lay above the reference on the whole",
     "0.05: the usual course is not known better", "rise-ignored (two layers)"},
    {P::alkalinity_bearable,
     "a pulse although alkalinity was tested above its limit and not below it since",
     "3 s; 15 s until it must outlive a crash: it is written within that",
     "tested-alkalinity-ignored"},
    {P::effect_sound, "three quarters of the plan although the doses do far too much",
     "two days at 2.5 times the file's rate, with nothing else at fault",
     "effect-ignored (two layers)"},
    {P::latch_kept, "a pulse although a hold waits for a person",
     "15 s until it must outlive a crash: it is written within that", "latch-not-stored"},
    {P::hour, "more than the hour's allowance was commanded", "0.01 mL of rounding",
     "hour-allowance-ignored"},
    {P::hour_by_chemistry, "an hour's doses would raise pH by more than the limit",
     "a tenth, and 0.05 pH above the highest of the last minutes: the program goes by a reading "
     "of its "
     "own second",
     "hour-by-chemistry-ignored"},
    {P::pulse_by_chemistry, "a pulse would raise pH by more than the limit",
     "the same, and one step of the board's timer", "pulse-by-chemistry-ignored"},
    {P::day, "more than the day's allowance was commanded", "0.01 mL of rounding",
     "day-allowance-ignored"},
    {P::day_plan, "the plan gave more than a day's volume in a day",
     "the one pulse that is due, 0.01 mL, and the largest volume that was set within the day; what "
     "people had run counts too",
     "day-plan-ignored"},
    {P::half_unconfirmed,
     "more than half of the plan in a day although nobody measured the pump's rate",
     "the one pulse that is due, 0.01 mL; a day after it was last known, for the day of before "
     "slides out",
     "unconfirmed-rate-is-confirmed"},
    {P::window_share, "more than its share of the day was given in a clear window",
     "one step of the board's timer, which may be owed; only where no window makes up for "
     "another",
     "slot-used-twice"},
    {P::attended_bounded, "an attended run gave more than was asked, or went on too long",
     "0.01 mL; 10 s beyond half an hour", "attended-run-unbounded"},
    {P::sent_once, "a pulse was sent twice", "none", "ids-begin-anew (two layers)"},
    {P::counted_when_sent, "a pulse was sent that the ledger does not count in full",
     "0.01 mL of rounding", "row-not-written"},
    {P::flow_counted, "the ledger counts less than flowed by command", "0.01 mL of rounding",
     "pulse-closed-too-small"},
    {P::pulse_short, "a pulse is longer than any may be", "none", "pulse-length-unbounded"},
    {P::whole_steps, "a pulse is no whole number of the steps of the board's timer", "none",
     "timer-steps-ignored"},
    {P::outlet_off_first, "a pulse was sent although the pump was not known to be off",
     "2 s of a relay that is on: it may be found on within the second; 40 s of a board that is "
     "silent: three looks may fail",
     "silent-board-is-good (two layers)"},
    {P::quick_disk, "a pulse was sent although the disk is far too slow",
     "beyond 7 s a write, for five minutes", "slow-disk-is-good (three layers)"},
    {P::stays_off, "something was commanded after a person had switched everything off",
     "what could not be written down need not outlive a crash", "switched-off-does-not-hold"},
    {P::stays_paused, "a pulse within a pause",
     "15 s until it must outlive a crash: it is written within that", "pause-forgotten-at-a-start"},
    {P::work_settles, "a pulse although the reactor was worked at and had not settled since",
     "2 s; what could not be written down for 15 s need not outlive a crash",
     "work-settles-nothing"},
    {P::owner_obeyed, "a pulse although an owner's rule withholds it",
     "the age that its input may have, and 5 s; of rules without hours on the owner's own inputs, "
     "not of climbs",
     "owners-rules-ignored"},
    {P::silence_told, "nothing was dosed for six hours and nobody was told",
     "10 min after six hours of running", "silence-never-told (two layers)"},
    {P::shortfall_told, "far too little was given for two days, and nobody was told",
     "less than a tenth of the least that was wished in a day, for 25 h beyond that day, and two "
     "hours after a start: whatever halves and eases a plan leaves more",
     "shortfall-never-told"},
    {P::latch_told, "a hold waits for a person, and no alert of it stands",
     "3 s, whatever way it became one", "latch-while-it-stands-not-told"},
    {P::blind_told, "a probe showed nothing that counts for long, and no alert of it stands",
     "ten minutes, and 2 to be sure of it; of one cause, and begun anew by a start",
     "long-hold-never-told"},
    {P::outlet_told, "the outlets' board was silent for long, and no alert of it stands",
     "ten minutes, and 2 to be sure of it", "pump-not-confirmed-is-good"},
    {P::stirrer_told, "the stirrer has kept no rhythm for long, and no alert of it stands",
     "a cycle and an hour: it may be late once; then ten minutes, and 2 to be sure of it",
     "stirrer-silence-never-told"},
    {P::relay_told, "the pump's relay did not pick up for pulse after pulse, and nobody was told",
     "five pulses of 20 s or more in a row, on a board that answers at once",
     "dead-relay-never-told"},
    {P::temperature_told, "the water was too cold or too warm for long, and no alert of it stands",
     "15 min: a jump must be steady for five first, and filters", "cold-water-never-told"},
    {P::disk_told, "the disk failed what was to be written, and no alert of it stands",
     "3 s; a slow one after 3 min of rows that all took 7 s or more", "slow-disk-never-told"},
    {P::owner_told, "an owner's rule calls, and no alert of it stands",
     "5 s; of rules without hours on the owner's own inputs, not of climbs",
     "owners-call-never-told"},
    {P::goes_on, "everything had healed, and dosing did not go on",
     "26 h: a day that counts as full, and a settling", "pulse-has-no-end-of-its-own"},
    {P::flow_explained, "limewater flowed beyond all commands, and no fault explains it",
     "2 mL: the arithmetic of seconds", "overrun-not-ended (two layers)"},
    {P::fault_bounded, "a physical fault did more than it can, or nobody was told",
     "as the bound of each fault says", "stuck-relay-not-noticed"},
}};

}  // namespace

const PromiseTable& promises() { return kTable; }

const PromiseRow& about(Promise promise) {
  return promises().at(static_cast<std::size_t>(promise));  // in the order of the promises
}

Promise promise_of(const rules::Hold& hold) {
  return std::visit(Visitor{[](const rules::StirrerRunning&) { return P::settled; },
                            [](const rules::StirrerUnknown&) { return P::settled; },
                            [](const rules::StirOverdue&) { return P::stirrer_heard; },
                            [](const rules::StirEndless&) { return P::settled; },
                            [](const rules::Settling&) { return P::settled; },
                            [](const rules::ProbeMissing&) { return P::fresh; },
                            [](const rules::ProbeStale&) { return P::fresh; },
                            [](const rules::ProbeNotANumber&) { return P::plausible; },
                            [](const rules::ProbeImplausible&) { return P::plausible; },
                            [](const rules::ProbeStuck&) { return P::not_stuck; },
                            [](const rules::ProbeUnsteady&) { return P::steady; },
                            [](const rules::ProbeDisturbed&) { return P::calm; },
                            [](const rules::ProbesDisagree&) { return P::agreeing; },
                            [](const rules::NotYetProven&) { return P::proven; },
                            [](const rules::CeilingReached&) { return P::below_ceiling; },
                            [](const rules::SecondCeilingReached&) { return P::second_ceiling; },
                            [](const rules::Climbing&) { return P::no_climb; },
                            [](const rules::ClimbUnknown&) { return P::climb_watched; },
                            [](const rules::UnusualClimb&) { return P::no_foreign_climb; },
                            [](const rules::ClimbGoesOn&) { return P::no_foreign_climb; },
                            [](const rules::Risen&) { return P::not_risen; },
                            [](const rules::EffectTooLarge&) { return P::effect_sound; },
                            [](const rules::AlkalinityTooHigh&) { return P::alkalinity_bearable; },
                            [](const rules::TimerStepTooLong&) { return P::pulse_by_chemistry; },
                            [](const rules::HourAllowanceSpent&) { return P::hour; },
                            [](const rules::DayAllowanceSpent&) { return P::day; },
                            [](const rules::Paused&) { return P::stays_paused; },
                            [](const rules::LedgerNotWritable&) { return P::counted_when_sent; },
                            [](const rules::DiskSlow&) { return P::quick_disk; },
                            [](const rules::OutletUnconfirmed&) { return P::outlet_off_first; },
                            [](const rules::OutletStuckOn&) { return P::fault_bounded; },
                            [](const rules::OutletFoundOn&) { return P::latch_kept; },
                            [](const rules::PumpTimerFailed&) { return P::fault_bounded; },
                            [](const rules::SwitchedOff&) { return P::stays_off; },
                            [](const rules::RecordLost&) { return P::latch_kept; },
                            [](const rules::UnknownLatch&) { return P::latch_kept; },
                            [](const rules::OwnerHold&) { return P::owner_obeyed; }},
                    hold);
}

void Verdicts::broken(Promise promise, const std::string& detail) {
  int& times = times_.at(static_cast<std::size_t>(promise));
  if (++times <= kLinesOfEach) {
    lines_.push_back(fmt::format("{}{} at second {}", about(promise).sentence,
                                 detail.empty() ? "" : " (" + detail + ")", now_ / 1s));
  }
}

}  // namespace limegate::rehearsal
