// Pulses and their account, alone: the gate is what the test says.

#include "station/doser.h"

#include <gtest/gtest.h>

#include "station/part.h"

namespace limegate::station {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using Command = OutletReport::Command;
using Result = OutletReport::Result;

class DoserAlone : public testing::Test {
 protected:
  DoserAlone() {
    step(false);
    report(Command::read_back, Result::off);
    report(Command::off, Result::off);
    effects.clear();
  }
  void step(bool ends_pulse) { doser.step(after(now), ends_pulse, effects); }
  void report(Command command, Result result) {
    doser.take(after(now), {rules::OutletRole::pump, command, result, ""}, effects);
  }
  /// Effects since the last time; what they come to is counted.
  Effects counted() {
    doser.tell(after(now), effects);
    ended = doser.count(effects);
    return std::exchange(effects, {});
  }

  Duration now{};
  Effects effects;
  std::optional<ClosePulse> ended;
  Doser doser{part_settings(), {}, kStart};
};

TEST_F(DoserAlone, a_pulse_counts_before_it_runs_and_what_was_not_sent_does_not) {
  ASSERT_TRUE(doser.rests());
  const std::int64_t id = doser.reserve(after(now), Millilitres{30.0}, effects);
  const auto begins = doser.begins(after(now).mono, effects);
  ASSERT_TRUE(begins);
  EXPECT_FALSE(begins->undosed) << "it is the first";
  (void)counted();
  EXPECT_EQ(doser.given_day(after(now)), Millilitres{30.0});
  doser.durable(after(now).mono, id);
  now += 1s;
  step(true);
  const Effects told = counted();
  EXPECT_EQ(raised(told, "pulse-not-given"), 1);
  ASSERT_TRUE(ended);
  EXPECT_EQ(ended->fate, Fate::not_given);
  Status status;
  doser.show(after(now), status);
  EXPECT_FALSE(status.last_given);
  EXPECT_EQ(status.given_in_all, Millilitres{0.0});
  EXPECT_EQ(doser.given_day(after(now)), Millilitres{0.0});
}

TEST_F(DoserAlone, a_pulse_that_ran_to_its_end_is_told_and_answered_once) {
  const std::int64_t id = doser.reserve(after(now), Millilitres{30.0}, effects);
  doser.durable(after(now).mono, id);
  now += 1s;
  step(false);
  report(Command::run, Result::on);
  rules::Snapshot known;
  doser.know(after(now), known);
  EXPECT_EQ(known.pump_flow, rules::Snapshot::PumpFlow::possible);
  (void)counted();
  EXPECT_FALSE(ended);
  int times = 0;
  for (int second = 0; second < 60; ++second) {
    now += 1s;
    step(false);
    report(Command::read_back, second < 44 ? Result::on : Result::off);
    times += raised(counted(), "pulse-given");
  }
  EXPECT_EQ(times, 1);
  Status status;
  doser.show(after(now), status);
  ASSERT_TRUE(status.last_given);
  EXPECT_EQ(status.last_given->begun, after(0s).wall) << "when it was decided";
  EXPECT_EQ(status.last_given->volume, Millilitres{30.0});
  EXPECT_EQ(status.given_in_all, Millilitres{30.0});
  EXPECT_EQ(doser.given_day(after(now)), Millilitres{30.0});
  EXPECT_TRUE(doser.resting());
}

TEST_F(DoserAlone, a_ledger_that_fails_names_the_pulse_whose_row_was_being_written) {
  EXPECT_FALSE(doser.ledger_failed());
  const std::int64_t id = doser.reserve(after(now), Millilitres{30.0}, effects);
  const auto lost = doser.ledger_failed();
  ASSERT_TRUE(lost);
  EXPECT_EQ(lost->id, id);
}

TEST_F(DoserAlone, of_a_ledger_that_was_read_again_it_says_what_is_lacking_and_takes_the_rest) {
  const std::int64_t id = doser.reserve(after(now), Millilitres{30.0}, effects);
  (void)counted();
  const dosing::Stamp end{after(now).mono.time_since_epoch(), after(now).wall};
  const auto lacking = doser.recount(after(now), {{id + 5, end, Millilitres{11.0}}});
  ASSERT_EQ(lacking.size(), 1U);
  EXPECT_EQ(lacking[0].id, id);
  EXPECT_EQ(doser.given_day(after(now)), Millilitres{41.0});
}

TEST_F(DoserAlone, an_attended_run_is_pulses_until_its_volume_is_given_or_a_hold_comes) {
  AttendedRun& run = doser.attended();
  run.begin(after(now), Millilitres{50.0}, effects);
  EXPECT_EQ(run.go_on(after(now), {}, Millilitres{30.0}, effects), Millilitres{30.0});
  EXPECT_FALSE(run.go_on(after(now), {rules::ProbeDisturbed{20s}}, Millilitres{30.0}, effects));
  EXPECT_TRUE(run.under_way()) << "it waits for the probe";
  EXPECT_EQ(run.go_on(after(now), {}, Millilitres{30.0}, effects), Millilitres{20.0});
  run.counted({1, Fate::given, Millilitres{30.0}});
  run.counted({2, Fate::given, Millilitres{20.0}});
  EXPECT_FALSE(run.go_on(after(now), {}, Millilitres{30.0}, effects));
  EXPECT_FALSE(run.under_way());
  EXPECT_EQ(raised(effects, "attended-run-over"), 1);
  ASSERT_TRUE(run.measurable(after(now).mono));
  EXPECT_EQ(*run.measurable(after(now).mono), 75s) << "50 mL at 40 mL/min";
  EXPECT_FALSE(run.measurable(after(now + 2h + 1s).mono));
  run.begin(after(now), Millilitres{50.0}, effects);
  EXPECT_FALSE(run.go_on(after(now), {rules::Paused{1h}}, Millilitres{30.0}, effects));
  EXPECT_FALSE(run.under_way());
}

}  // namespace
}  // namespace limegate::station
