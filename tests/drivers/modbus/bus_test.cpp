#include "modbus/bus.h"

#include <gtest/gtest.h>

#include "drivers/modbus/rig.h"

namespace limegate::test {
namespace {

using ports::OutletState;

class BusOn : public testing::TestWithParam<Slave::Transport> {};
INSTANTIATE_TEST_SUITE_P(Wires, BusOn,
                         testing::Values(Slave::Transport::tcp, Slave::Transport::pty),
                         [](const auto& wire) {
                           return wire.param == Slave::Transport::tcp ? "tcp" : "pty";
                         });

TEST_P(BusOn, reads_a_value_with_its_scale) {
  modbus::ProbeSettings probe;
  probe.address = 7;
  probe.scale = 0.01;
  Rig rig{GetParam(), {probe}};
  rig.slave.set_holding(1, 7, 823);
  const auto samples = rig.poll({0});
  ASSERT_EQ(samples.size(), 1U);
  ASSERT_TRUE(samples[0].value.has_value());
  EXPECT_DOUBLE_EQ(*samples[0].value, 8.23);
}

TEST_P(BusOn, runs_an_outlet_and_switches_it_off) {
  Rig rig{GetParam()};
  rig.slave.add_outlet({.unit = 3, .address = 2, .timed_register = 10});
  modbus::OutletSettings settings;
  settings.unit = 3;
  settings.control.address = 2;
  settings.timed_on = modbus::TimedOn{10};
  const auto outlet = rig.bus->outlet(settings);
  EXPECT_EQ(rig.run_for(*outlet, std::chrono::seconds{30}), OutletState::on);
  EXPECT_TRUE(rig.slave.is_on(3, 2));
  EXPECT_EQ(rig.off(*outlet), OutletState::off);
  EXPECT_FALSE(rig.slave.is_on(3, 2));
}

}  // namespace
}  // namespace limegate::test
