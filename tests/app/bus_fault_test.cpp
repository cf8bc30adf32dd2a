#include <gtest/gtest.h>

#include "app/bench.h"
#include "support/places.h"

namespace limegate::test {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

Bench::Plan quick_plan() {
  Bench::Plan plan;
  plan.max_pulse_ml = 12.5;
  return plan;
}

struct Case {
  const char* name;
  Misbehaviour how;
};
void PrintTo(const Case& row, std::ostream* out) { *out << row.name; }

class BusFaultTable : public testing::TestWithParam<Case> {};

// While the probes' unit misbehaves the gate is held within the staleness limit, whatever the
// fault, and a value that was not believed changes nothing; when it heals, dosing resumes by
// itself.
TEST_P(BusFaultTable, holds_within_the_staleness_limit_and_recovers_alone) {
  Bench bench{quick_plan()};
  bench.prepare();
  bench.start();
  ASSERT_TRUE(bench.let_pulse_begin()) << bench.log();
  SlaveFault fault{GetParam().how};
  fault.requests = 1'000'000;
  fault.unit = Bench::kProbes;
  // An answer of seven bytes at least, and a timeout of 0.8 s.
  fault.delay = GetParam().how == Misbehaviour::trickle ? 300ms : 1500ms;
  bench.slave().script(fault);
  EXPECT_FALSE(contains(bench.log(), "held-ph-stale")) << bench.log();
  // 10 s of age, one poll and one step.
  ASSERT_TRUE(bench.let_pass(13s)) << bench.log();
  EXPECT_TRUE(contains(bench.log(), "held-ph-stale")) << bench.log();
  EXPECT_FALSE(bench.pump_on()) << bench.log();
  const double held_at = bench.delivered_ml();
  ASSERT_TRUE(bench.let_pass(3min)) << bench.log();
  EXPECT_EQ(bench.delivered_ml(), held_at);
  // Nothing that was refused was believed: no value out of range was ever seen.
  EXPECT_FALSE(contains(bench.log(), "implausible")) << bench.log();
  EXPECT_FALSE(contains(bench.log(), "unsteady")) << bench.log();
  bench.slave().clear_faults();
  ASSERT_TRUE(bench.wait_for([&] { return bench.delivered_ml() > held_at; })) << bench.log();
  EXPECT_EQ(bench.stop(), 0);
  EXPECT_GE(bench.counted_ml(), bench.delivered_ml() - 0.001);
}

const Case kCases[] = {
    {"no_answer", Misbehaviour::silent},
    {"exception", Misbehaviour::exception},
    {"wrong_unit", Misbehaviour::wrong_unit},
    {"wrong_length", Misbehaviour::wrong_length},
    {"wrong_byte_count", Misbehaviour::wrong_byte_count},
    {"wrong_function", Misbehaviour::wrong_function},
    {"bad_check", Misbehaviour::bad_check},
    {"half_a_frame", Misbehaviour::half_frame},
    {"late_answer", Misbehaviour::late},
    {"trickling_bytes", Misbehaviour::trickle},
};
INSTANTIATE_TEST_SUITE_P(, BusFaultTable, testing::ValuesIn(kCases),
                         [](const auto& row) { return row.param.name; });

class PortLost : public testing::TestWithParam<Slave::Transport> {};

TEST_P(PortLost, holds_and_goes_on_when_the_port_is_back) {
  Bench bench{quick_plan(), GetParam()};
  bench.prepare();
  bench.start();
  ASSERT_TRUE(bench.let_pulse_begin()) << bench.log();
  bench.slave().close_port();
  ASSERT_TRUE(bench.let_pass(60s)) << bench.log();
  EXPECT_TRUE(contains(bench.log(), "held-ph-stale")) << bench.log();
  bench.slave().reopen_port();
  const double before = bench.delivered_ml();
  ASSERT_TRUE(bench.wait_for([&] { return bench.delivered_ml() > before + 1; })) << bench.log();
  EXPECT_EQ(bench.stop(), 0);
  EXPECT_GE(bench.counted_ml(), bench.delivered_ml() - 0.001);
}

INSTANTIATE_TEST_SUITE_P(, PortLost, testing::Values(Slave::Transport::tcp, Slave::Transport::pty),
                         [](const auto& row) {
                           return row.param == Slave::Transport::tcp ? "tcp" : "pty";
                         });

TEST(BusFault, a_wrong_register_is_named_with_its_remedy_once) {
  Bench bench{quick_plan()};
  write_file(bench.config(), [&] {
    std::string text = read_file(bench.config());
    return text.replace(text.find("address = 0"), 11, "address = 5000");
  }());
  bench.prepare();
  bench.start();
  ASSERT_TRUE(bench.let_pass(10min)) << bench.log();
  EXPECT_TRUE(contains(bench.log(),
                       "event=probe-fault The pH probe (bus bench, unit 1, address "
                       "5000) lives, and refuses the request. Check table, address"))
      << bench.log();
  EXPECT_FALSE(contains(bench.log(), "event=probe-fault", 2)) << "once is enough\n" << bench.log();
  EXPECT_EQ(bench.delivered_ml(), 0);
  EXPECT_EQ(bench.stop(), 0);
}

TEST(Ceiling, a_ph_above_it_ends_the_running_pulse_and_dosing_resumes_below_the_lower_value) {
  Bench bench{quick_plan()};
  bench.show_ph(8.36);
  bench.prepare();
  bench.start();
  ASSERT_TRUE(bench.let_pulse_begin()) << bench.log();
  ASSERT_TRUE(bench.let_pass(2s));
  bench.show_ph(8.47);
  ASSERT_TRUE(bench.let_pass(3s));
  EXPECT_FALSE(bench.pump_on()) << bench.log();
  ASSERT_TRUE(bench.let_pass(30s));
  EXPECT_TRUE(contains(bench.log(), "held-ph-ceiling")) << bench.log();
  const double held_at = bench.delivered_ml();
  EXPECT_LT(held_at, 12.5) << "the pulse was not cut short";
  EXPECT_GE(bench.counted_ml(), held_at - 0.001);
  EXPECT_LT(bench.counted_ml(), 12.5) << "the count shrinks when off was confirmed early";
  bench.show_ph(8.42);  // below the ceiling, above the resume value
  ASSERT_TRUE(bench.let_pass(3h));
  EXPECT_EQ(bench.delivered_ml(), held_at);
  bench.show_ph(8.36);
  ASSERT_TRUE(bench.wait_for([&] { return bench.delivered_ml() > held_at; })) << bench.log();
  EXPECT_EQ(bench.stop(), 0);
}

TEST(Ceiling, the_second_one_stays_until_a_person_releases_it_also_over_a_restart) {
  Bench bench{quick_plan()};
  bench.show_ph(8.36);
  bench.prepare();
  bench.start();
  ASSERT_TRUE(bench.let_pulse_begin()) << bench.log();
  for (const double ph : {8.45, 8.54, 8.62}) {  // in steps that are no jump
    bench.show_ph(ph);
    ASSERT_TRUE(bench.let_pass(2min));
  }
  bench.show_ph(8.36);
  ASSERT_TRUE(bench.let_pass(10min));
  const double held_at = bench.delivered_ml();
  EXPECT_TRUE(contains(bench.log(), "held-ph-second-ceiling")) << bench.log();
  EXPECT_EQ(bench.stop(), 0);
  bench.start();
  ASSERT_TRUE(bench.let_pass(6h));
  EXPECT_EQ(bench.delivered_ml(), held_at);
  EXPECT_EQ(bench.stop(), 0);
  const Ran wrong = run_program({limegate_path(), "release", bench.config(), "ph-ceiling"});
  EXPECT_EQ(wrong.code, 2);
  EXPECT_TRUE(contains(wrong.output, "Latched now: ph-second-ceiling")) << wrong.output;
  const auto release = [&] {
    const Ran ran = run_program({limegate_path(), "release", bench.config(), "ph-second-ceiling"});
    EXPECT_EQ(ran.code, 0);
    EXPECT_TRUE(contains(ran.output, "once it has seen that its cause is gone")) << ran.output;
  };
  const auto latches = [&] { return bench.ledger_number("SELECT count(*) FROM latches"); };
  release();
  EXPECT_EQ(latches(), 2) << "it, and the note";
  // Above the value at which the ceiling resumes its cause is not gone.
  bench.show_ph(8.42);
  bench.start();
  ASSERT_TRUE(bench.let_pass(1h));
  EXPECT_EQ(latches(), 1);
  EXPECT_TRUE(contains(bench.log(), "event=noted-release-given-up ")) << bench.log();
  EXPECT_EQ(bench.stop(), 0);
  release();
  bench.show_ph(8.36);
  bench.start();
  ASSERT_TRUE(bench.wait_for([&] { return bench.delivered_ml() > held_at; })) << bench.log();
  EXPECT_TRUE(contains(bench.log(), "event=noted-release ")) << bench.log();
  EXPECT_EQ(latches(), 0);
  EXPECT_EQ(bench.stop(), 0);
}

TEST(Climb, a_quick_rise_holds_and_clears_by_itself) {
  Bench bench{quick_plan()};
  bench.show_ph(8.10);
  bench.prepare();
  bench.start();
  ASSERT_TRUE(bench.wait_for([&] { return bench.delivered_ml() > 30; })) << bench.log();
  for (const double ph : {8.14, 8.18, 8.22, 8.26}) {
    bench.show_ph(ph);
    ASSERT_TRUE(bench.let_pass(3min));
  }
  EXPECT_TRUE(contains(bench.log(), "event=held-ph-climbing")) << bench.log();
  ASSERT_TRUE(bench.let_pass(2h));
  EXPECT_TRUE(contains(bench.log(), "event=cleared-ph-climbing")) << bench.log();
  EXPECT_EQ(bench.stop(), 0);
}

TEST(Outlets, a_board_whose_timer_fails_is_ended_by_us_counted_in_full_and_latched) {
  Bench bench{quick_plan()};
  bench.prepare();
  bench.start();
  ASSERT_TRUE(bench.let_pulse_begin()) << bench.log();
  bench.slave().set_defect(Bench::kBoard, Bench::kPump, Defect::ignores_timer);
  ASSERT_TRUE(bench.let_pass(20min));
  // The board's timer failed: our own off ended the pulse, and what ran over is counted.
  EXPECT_FALSE(bench.pump_on()) << bench.log();
  EXPECT_TRUE(contains(bench.log(), "event=held-pump-timer-failed")) << bench.log();
  const double held_at = bench.delivered_ml();
  ASSERT_TRUE(bench.let_pass(3h));
  EXPECT_EQ(bench.delivered_ml(), held_at);
  EXPECT_GE(bench.counted_ml(), bench.delivered_ml() - 0.001);
  EXPECT_EQ(bench.stop(), 0);
}

TEST(Outlets, a_welded_pump_is_found_latched_and_told_to_a_person) {
  Bench::Plan plan = quick_plan();
  plan.contact_feedback = true;
  Bench bench{plan};
  bench.prepare();
  bench.start();
  ASSERT_TRUE(bench.let_pulse_begin()) << bench.log();
  bench.slave().set_defect(Bench::kBoard, Bench::kPump, Defect::welded);
  // The pulse's own 15 s, the grace of 2 s, three off commands a second apart, and a step each.
  ASSERT_TRUE(bench.let_pass(30s));
  EXPECT_TRUE(contains(bench.log(), "error: station=reef event=held-pump-stuck-on")) << bench.log();
  const auto pulses = bench.ledger_number("SELECT count(*) FROM pulses");
  ASSERT_TRUE(bench.let_pass(10min));
  EXPECT_EQ(bench.ledger_number("SELECT count(*) FROM pulses"), pulses);
  EXPECT_EQ(bench.stop(), 1) << "not every outlet could be confirmed to be off";
}

TEST(Outlets, a_stirrer_switched_by_hand_holds_until_it_has_settled) {
  Bench bench{quick_plan()};
  bench.prepare();
  bench.start();
  ASSERT_TRUE(bench.let_pulse_begin()) << bench.log();
  ASSERT_TRUE(bench.wait_for([&] { return !bench.pump_on(); })) << bench.log();
  ASSERT_TRUE(bench.let_pass(5s));
  // A foreign master on the same board: mbpoll counts coils from 1.
  const Ran by_hand = run_program({"/usr/bin/mbpoll", "-m", "tcp", "-a", "2", "-t", "0", "-r", "2",
                                   "-p", std::to_string(bench.slave().port()), "127.0.0.1", "1"});
  ASSERT_EQ(by_hand.code, 0) << by_hand.output;
  ASSERT_TRUE(bench.let_pass(10s));
  EXPECT_TRUE(contains(bench.log(), "stirrer-found-on")) << bench.log();
  EXPECT_FALSE(bench.stirrer_on()) << bench.log();
  const double before = bench.delivered_ml();
  ASSERT_TRUE(bench.let_pass(19min));
  EXPECT_EQ(bench.delivered_ml(), before) << bench.log();
  ASSERT_TRUE(bench.wait_for([&] { return bench.delivered_ml() > before; })) << bench.log();
  EXPECT_EQ(bench.stop(), 0);
}

}  // namespace
}  // namespace limegate::test
