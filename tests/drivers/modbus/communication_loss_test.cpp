// The board's communication-loss register is written and verified before anything is switched on.
#include <chrono>
#include <thread>

#include <gtest/gtest.h>

#include "drivers/modbus/rig.h"
#include "support/wait_until.h"

namespace limegate::test {
namespace {

using ports::BusFault;
using ports::OutletState;
using ports::Sent;
using std::chrono::milliseconds;
using std::chrono::seconds;

constexpr std::uint16_t kCoil = 2;
constexpr std::uint16_t kLossRegister = 90;

class CommunicationLossOn : public testing::TestWithParam<Slave::Transport> {
 protected:
  CommunicationLossOn() {
    rig.slave.add_outlet({.unit = 3, .address = kCoil, .timed_register = 10});
    rig.slave.add_communication_loss(3, kLossRegister, milliseconds{400});
    modbus::OutletSettings settings;
    settings.unit = 3;
    settings.control.address = kCoil;
    settings.timed_on = modbus::TimedOn{10};
    settings.communication_loss = modbus::CommunicationLoss{kLossRegister, 5};
    outlet = rig.bus->outlet(settings);
  }
  Rig rig{GetParam()};
  std::unique_ptr<ports::Outlet> outlet;
};
INSTANTIATE_TEST_SUITE_P(Wires, CommunicationLossOn,
                         testing::Values(Slave::Transport::tcp, Slave::Transport::pty),
                         [](const auto& wire) {
                           return wire.param == Slave::Transport::tcp ? "tcp" : "pty";
                         });

TEST_P(CommunicationLossOn, is_set_after_the_first_off) {
  ASSERT_EQ(rig.off(*outlet), OutletState::off);
  ASSERT_EQ(rig.read_back(*outlet), OutletState::off);  // queued behind the setting
  EXPECT_EQ(rig.slave.holding(3, kLossRegister), 5);
}

TEST_P(CommunicationLossOn, is_set_before_the_first_run) {
  rig.slave.on_request([this](const Slave::Event& event) {
    if (event.phase == Slave::Event::Phase::before && event.address == 10) {
      EXPECT_EQ(rig.slave.holding(3, kLossRegister), 5);
    }
  });
  EXPECT_EQ(rig.run_for(*outlet, seconds{30}), OutletState::on);
}

TEST_P(CommunicationLossOn, is_not_written_again_while_contact_holds) {
  ASSERT_EQ(rig.run_for(*outlet, seconds{30}), OutletState::on);
  const int requests = rig.slave.requests();
  ASSERT_EQ(rig.run_for(*outlet, seconds{30}), OutletState::on);
  EXPECT_EQ(rig.slave.requests(), requests + 2);
}

TEST_P(CommunicationLossOn, is_set_again_after_a_silence_in_which_the_board_was_reset) {
  ASSERT_EQ(rig.run_for(*outlet, seconds{30}), OutletState::on);
  rig.slave.reset_unit(3);
  rig.slave.script({.how = Misbehaviour::silent});
  ASSERT_FALSE(rig.read_back(*outlet).has_value());
  ASSERT_EQ(rig.off(*outlet), OutletState::off);
  ASSERT_EQ(rig.run_for(*outlet, seconds{30}), OutletState::on);
  EXPECT_EQ(rig.slave.holding(3, kLossRegister), 5);
}

TEST_P(CommunicationLossOn, is_set_again_after_the_port_was_gone) {
  ASSERT_EQ(rig.run_for(*outlet, seconds{30}), OutletState::on);
  rig.slave.close_port();
  rig.slave.reset_unit(3);
  rig.slave.reopen_port();
  ASSERT_EQ(rig.off(*outlet), OutletState::off);
  ASSERT_EQ(rig.run_for(*outlet, seconds{30}), OutletState::on);
  EXPECT_EQ(rig.slave.holding(3, kLossRegister), 5);
}

TEST_P(CommunicationLossOn, refuses_to_run_while_the_board_does_not_take_it) {
  modbus::OutletSettings settings;
  settings.unit = 3;
  settings.control.address = kCoil;
  settings.timed_on = modbus::TimedOn{10};
  settings.communication_loss = modbus::CommunicationLoss{91, 5};  // no such register
  const auto wrong = rig.bus->outlet(settings);
  const tl::unexpected refused{Fault{Sent::no, BusFault::refused_by_device}};
  EXPECT_EQ(rig.run_for(*wrong, seconds{30}), refused);
  EXPECT_EQ(rig.off(*wrong), OutletState::off) << "an off needs no verified register";

  // A register that takes the write and keeps another number.
  rig.slave.on_request([this](const Slave::Event& event) {
    if (event.phase == Slave::Event::Phase::after && event.address == kLossRegister) {
      rig.slave.set_holding(3, kLossRegister, 0);
    }
  });
  EXPECT_EQ(rig.run_for(*outlet, seconds{30}), refused);
  EXPECT_TRUE(rig.slave.log().empty());
  rig.slave.on_request({});
  EXPECT_EQ(rig.run_for(*outlet, seconds{30}), OutletState::on);
}

TEST_P(CommunicationLossOn, ends_a_run_when_nobody_speaks_to_the_board) {
  ASSERT_EQ(rig.run_for(*outlet, seconds{30}), OutletState::on);
  ASSERT_TRUE(wait_until([&] { return !rig.slave.is_on(3, kCoil); }));
  const auto log = rig.slave.log();
  ASSERT_EQ(log.size(), 2U);
  EXPECT_EQ(log[1].cause, ChangeCause::communication_loss);
  EXPECT_EQ(rig.read_back(*outlet), OutletState::off);
}

TEST_P(CommunicationLossOn, is_kept_at_bay_by_reading_back) {
  ASSERT_EQ(rig.run_for(*outlet, seconds{30}), OutletState::on);
  // The board waits 2 s.
  for (int i = 0; i < 5; ++i) {
    std::this_thread::sleep_for(milliseconds{500});  // a loop's pace
    EXPECT_EQ(rig.read_back(*outlet), OutletState::on);
  }
}

}  // namespace
}  // namespace limegate::test
