// Outlets over real frames: what is sent, what is never sent, and what is reported.
#include <chrono>
#include <string>
#include <thread>

#include <gtest/gtest.h>

#include "drivers/modbus/rig.h"

namespace limegate::test {
namespace {

using ports::BusFault;
using ports::OutletState;
using ports::Sent;
using std::chrono::milliseconds;
using std::chrono::seconds;

constexpr std::uint16_t kCoil = 2;
constexpr std::uint16_t kTimer = 10;

tl::unexpected<Fault> fault(Sent sent, BusFault cause) {
  return tl::unexpected{Fault{sent, cause}};
}

modbus::OutletSettings timed_settings() {
  modbus::OutletSettings settings;
  settings.unit = 3;
  settings.control.address = kCoil;
  settings.timed_on = modbus::TimedOn{kTimer};
  return settings;
}

RelayOutlet timed_board() { return {.unit = 3, .address = kCoil, .timed_register = kTimer}; }

class OutletOn : public testing::TestWithParam<Slave::Transport> {
 protected:
  OutletOn() { rig.slave.add_outlet(timed_board()); }

  /// What the slave was asked from now on, one letter a function: r read, c coil, w register.
  void record() {
    rig.slave.on_request([this](const Slave::Event& event) {
      if (event.phase != Slave::Event::Phase::before) {
        return;
      }
      const std::lock_guard lock{mutex};
      asked += event.function <= 4 ? 'r' : event.function == 5 ? 'c' : 'w';
    });
  }
  std::string asked_so_far() {
    const std::lock_guard lock{mutex};
    return asked;
  }

  Rig rig{GetParam()};
  std::mutex mutex;
  std::string asked;
};
INSTANTIATE_TEST_SUITE_P(Wires, OutletOn,
                         testing::Values(Slave::Transport::tcp, Slave::Transport::pty),
                         [](const auto& wire) {
                           return wire.param == Slave::Transport::tcp ? "tcp" : "pty";
                         });

TEST_P(OutletOn, runs_by_the_boards_timer_which_ends_it) {
  const auto outlet = rig.bus->outlet(timed_settings());
  record();
  EXPECT_EQ(rig.run_for(*outlet, milliseconds{799}), OutletState::on);  // 7 steps of 100 ms
  EXPECT_EQ(asked_so_far(), "wr");
  std::this_thread::sleep_for(milliseconds{720});  // past its end, and nobody asks meanwhile
  EXPECT_EQ(rig.read_back(*outlet), OutletState::off);
  const auto log = rig.slave.log();
  ASSERT_EQ(log.size(), 2U);
  EXPECT_EQ(log[1].cause, ChangeCause::timer);
  EXPECT_EQ(log[1].at.mono - log[0].at.mono, milliseconds{700});
}

TEST_P(OutletOn, refuses_a_duration_that_does_not_fit_the_timer) {
  const auto outlet = rig.bus->outlet(timed_settings());
  const auto refused = fault(Sent::no, BusFault::refused_by_device);
  EXPECT_EQ(rig.run_for(*outlet, milliseconds{-100}), refused);
  EXPECT_EQ(rig.run_for(*outlet, milliseconds{0}), refused);
  EXPECT_EQ(rig.run_for(*outlet, milliseconds{99}), refused);
  EXPECT_EQ(rig.run_for(*outlet, milliseconds{6'553'600}), refused);
  EXPECT_EQ(rig.slave.requests(), 0);
  // It may be over before it is read back.
  EXPECT_TRUE(rig.run_for(*outlet, milliseconds{100}).has_value());
  EXPECT_EQ(rig.slave.requests(), 2);
  EXPECT_EQ(rig.run_for(*outlet, milliseconds{6'553'599}), OutletState::on);
  EXPECT_EQ(rig.off(*outlet), OutletState::off);
}

TEST_P(OutletOn, sends_nothing_once_send_before_has_passed) {
  const auto outlet = rig.bus->outlet(timed_settings());
  EXPECT_EQ(rig.run_for(*outlet, seconds{1}, milliseconds{0}),
            fault(Sent::no, BusFault::timed_out));
  EXPECT_EQ(rig.slave.requests(), 0);
}

TEST_P(OutletOn, sends_nothing_when_its_turn_comes_too_late) {
  modbus::ProbeSettings dead;
  dead.unit = 77;
  Rig own{GetParam(), {dead}};
  own.slave.add_outlet(timed_board());
  const auto outlet = own.bus->outlet(timed_settings());
  own.bus->poll({0}, [](auto) {});
  EXPECT_EQ(own.run_for(*outlet, seconds{1}, milliseconds{20}),
            fault(Sent::no, BusFault::timed_out));
  EXPECT_TRUE(own.slave.log().empty());
}

TEST_P(OutletOn, reports_maybe_and_never_sends_again_when_the_answer_is_lost) {
  const auto outlet = rig.bus->outlet(timed_settings());
  EXPECT_EQ(rig.off(*outlet), OutletState::off);
  record();
  rig.slave.script({.how = Misbehaviour::drop_reply});
  EXPECT_EQ(rig.run_for(*outlet, seconds{30}), fault(Sent::maybe, BusFault::timed_out));
  EXPECT_TRUE(rig.slave.is_on(3, kCoil));
  EXPECT_EQ(asked_so_far(), "w");
  EXPECT_EQ(rig.off(*outlet), OutletState::off);
  EXPECT_EQ(asked_so_far(), "wcr");
}

TEST_P(OutletOn, reports_maybe_for_an_answer_that_is_not_believed) {
  const auto outlet = rig.bus->outlet(timed_settings());
  rig.slave.script({.how = Misbehaviour::wrong_length});  // echoes another value
  EXPECT_EQ(rig.run_for(*outlet, seconds{30}), fault(Sent::maybe, BusFault::corrupt_reply));
  rig.slave.script({.how = Misbehaviour::exception, .code = 4});
  EXPECT_EQ(rig.run_for(*outlet, seconds{30}), fault(Sent::maybe, BusFault::refused_by_device));
}

TEST_P(OutletOn, reports_maybe_when_only_the_read_back_fails) {
  const auto outlet = rig.bus->outlet(timed_settings());
  rig.slave.on_request([this](const Slave::Event& event) {
    if (event.phase == Slave::Event::Phase::after && event.function == 6) {
      rig.slave.script({.how = Misbehaviour::silent});
    }
  });
  EXPECT_EQ(rig.run_for(*outlet, seconds{30}), fault(Sent::maybe, BusFault::timed_out));
}

TEST_P(OutletOn, reports_no_when_the_port_can_not_be_opened) {
  rig.slave.close_port();
  const auto outlet = rig.bus->outlet(timed_settings());
  EXPECT_EQ(rig.run_for(*outlet, seconds{30}), fault(Sent::no, BusFault::port_gone));
  EXPECT_EQ(rig.off(*outlet), fault(Sent::no, BusFault::port_gone));
  EXPECT_EQ(rig.read_back(*outlet), fault(Sent::no, BusFault::port_gone));
  rig.slave.reopen_port();
  EXPECT_EQ(rig.off(*outlet), OutletState::off) << "an off does not wait for the back-off";
}

TEST_P(OutletOn, tells_what_the_board_says_when_it_ignores_the_command) {
  const auto outlet = rig.bus->outlet(timed_settings());
  rig.slave.set_defect(3, kCoil, Defect::ignores_writes);
  EXPECT_EQ(rig.run_for(*outlet, seconds{30}), OutletState::off);
}

TEST_P(OutletOn, is_not_run_while_its_unit_backs_off_but_is_switched_off) {
  rig.change([](modbus::BusSettings& settings) { settings.retry_first = seconds{60}; });
  const auto outlet = rig.bus->outlet(timed_settings());
  rig.slave.script({.how = Misbehaviour::silent});
  EXPECT_EQ(rig.read_back(*outlet), fault(Sent::no, BusFault::timed_out));
  EXPECT_EQ(rig.run_for(*outlet, seconds{30}), fault(Sent::no, BusFault::backing_off));
  EXPECT_EQ(rig.read_back(*outlet), fault(Sent::no, BusFault::backing_off));
  EXPECT_EQ(rig.off(*outlet), OutletState::off);
}

TEST_P(OutletOn, is_tried_off_three_times_within_one_call) {
  const auto outlet = rig.bus->outlet(timed_settings());
  ASSERT_EQ(rig.run_for(*outlet, seconds{30}), OutletState::on);
  rig.slave.script({.how = Misbehaviour::silent, .requests = 2});
  EXPECT_EQ(rig.off(*outlet), OutletState::off);
  rig.slave.script({.how = Misbehaviour::silent, .requests = 3});
  EXPECT_EQ(rig.off(*outlet), fault(Sent::maybe, BusFault::timed_out));
}

TEST_P(OutletOn, shows_a_welded_contact_by_its_separate_feedback) {
  auto board = timed_board();
  board.address = 5;
  board.timed_register = 11;
  board.feedback_input = 40;
  rig.slave.add_outlet(board);
  auto settings = timed_settings();
  settings.control.address = 5;
  settings.timed_on->address = 11;
  settings.feedback = modbus::SwitchPoint{modbus::Table::discrete_input, 40};
  const auto outlet = rig.bus->outlet(settings);
  ASSERT_EQ(rig.run_for(*outlet, seconds{30}), OutletState::on);
  rig.slave.set_defect(3, 5, Defect::welded);
  EXPECT_EQ(rig.off(*outlet), OutletState::on);
  const auto control_only = rig.bus->outlet([&] {
    auto blind = settings;
    blind.feedback.reset();
    return blind;
  }());
  EXPECT_EQ(rig.read_back(*control_only), OutletState::off) << "the coil alone would not tell";
}

struct Wiring {
  modbus::Table table;
  modbus::Polarity polarity;
  std::uint16_t on_value;
  std::uint16_t off_value;
};

TEST_P(OutletOn, obeys_coil_or_register_and_polarity) {
  const Wiring wirings[] = {
      {modbus::Table::coil, modbus::Polarity::active_high, 1, 0},
      {modbus::Table::coil, modbus::Polarity::active_low, 0, 1},
      {modbus::Table::holding_register, modbus::Polarity::active_high, 0x0100, 0x0200},
      {modbus::Table::holding_register, modbus::Polarity::active_low, 0, 1},
  };
  std::uint16_t address = 50;
  for (const Wiring& wiring : wirings) {
    ++address;
    const bool coil = wiring.table == modbus::Table::coil;
    rig.slave.add_outlet({.unit = 4,
                          .address = address,
                          .kind = coil ? SwitchKind::coil : SwitchKind::holding_register,
                          .on_value = wiring.on_value,
                          .off_value = wiring.off_value});
    modbus::OutletSettings settings;
    settings.unit = 4;
    settings.control = {wiring.table, address, wiring.polarity};
    const bool swapped = wiring.polarity == modbus::Polarity::active_low;
    settings.control.register_on = swapped ? wiring.off_value : wiring.on_value;
    settings.control.register_off = swapped ? wiring.on_value : wiring.off_value;
    const auto outlet = rig.bus->outlet(settings);
    EXPECT_EQ(rig.run_for(*outlet, seconds{20}), OutletState::on) << address;
    EXPECT_TRUE(rig.slave.is_on(4, address)) << address;
    EXPECT_EQ(rig.off(*outlet), OutletState::off) << address;
    EXPECT_FALSE(rig.slave.is_on(4, address)) << address;
  }
}

TEST_P(OutletOn, does_not_read_a_state_into_a_number_that_is_none) {
  rig.slave.set_holding(4, 60, 7);
  modbus::OutletSettings settings;
  settings.unit = 4;
  settings.control = {modbus::Table::holding_register, 60, modbus::Polarity::active_high, 1, 0};
  const auto outlet = rig.bus->outlet(settings);
  EXPECT_EQ(rig.read_back(*outlet), fault(Sent::no, BusFault::corrupt_reply));
}

}  // namespace
}  // namespace limegate::test
