// Ports that can't be opened, vanish, come back, or belong to somebody else.
#include <chrono>
#include <sstream>
#include <stdexcept>
#include <thread>

#include <fcntl.h>
#include <gtest/gtest.h>
#include <spdlog/sinks/ostream_sink.h>
#include <spdlog/spdlog.h>
#include <unistd.h>

#include "drivers/modbus/rig.h"
#include "support/wait_until.h"

namespace limegate::test {
namespace {

using ports::BusFault;
using std::chrono::milliseconds;
using std::chrono::seconds;

const std::vector<modbus::ProbeSettings> kOneProbe(1);

/// What the logger "bus" was told while this lives.
class BusLog {
 public:
  BusLog() {
    spdlog::register_logger(std::make_shared<spdlog::logger>(
        "bus", std::make_shared<spdlog::sinks::ostream_sink_mt>(text_)));
  }
  ~BusLog() { spdlog::drop("bus"); }
  BusLog(const BusLog&) = delete;
  BusLog(BusLog&&) = delete;
  BusLog& operator=(const BusLog&) = delete;
  BusLog& operator=(BusLog&&) = delete;
  [[nodiscard]] std::string text() const { return text_.str(); }
  [[nodiscard]] int count(const std::string& word) const {
    const std::string all = text();
    int found = 0;
    for (auto at = all.find(word); at != std::string::npos; at = all.find(word, at + 1)) {
      ++found;
    }
    return found;
  }

 private:
  std::ostringstream text_;
};

class PortOn : public testing::TestWithParam<Slave::Transport> {};
INSTANTIATE_TEST_SUITE_P(Wires, PortOn,
                         testing::Values(Slave::Transport::tcp, Slave::Transport::pty),
                         [](const auto& wire) {
                           return wire.param == Slave::Transport::tcp ? "tcp" : "pty";
                         });

TEST_P(PortOn, recovers_by_itself_when_it_vanishes_and_returns) {
  BusLog log;
  Rig rig{GetParam(), kOneProbe};
  rig.slave.set_holding(1, 0, 10);
  for (std::uint16_t round = 1; round <= 3; ++round) {
    rig.slave.set_holding(1, 0, round);
    ASSERT_EQ(rig.poll({0})[0].value, round);
    rig.slave.close_port();
    for (int i = 0; i < 5; ++i) {
      ASSERT_EQ(rig.poll({0})[0].value, tl::unexpected{BusFault::port_gone});
      std::this_thread::sleep_for(milliseconds{10});  // into its tries to open it
    }
    rig.slave.reopen_port();
    rig.slave.set_holding(1, 0, static_cast<std::uint16_t>(round + 100));
    auto sample = rig.poll({0})[0];
    ASSERT_TRUE(wait_until([&] {
      EXPECT_TRUE(sample.value || sample.value.error() == BusFault::port_gone);
      sample = sample.value ? sample : rig.poll({0})[0];
      return sample.value.has_value();
    }));
    ASSERT_EQ(sample.value, round + 100);
  }
  rig.bus.reset();
  EXPECT_EQ(log.count("port is back"), 3) << log.text();
  // Vanishing and failing to reopen are two causes; the same cause is not told again.
  EXPECT_LE(log.count("port is gone"), 6) << log.text();
}

TEST_P(PortOn, survives_vanishing_in_the_middle_of_a_request) {
  Rig rig{GetParam(), kOneProbe, kPatientTimeout};
  rig.slave.set_holding(1, 0, 10);
  ASSERT_EQ(rig.poll({0})[0].value, 10.0);
  rig.slave.script({.how = Misbehaviour::silent});
  const Polling polling{*rig.bus, {0}};
  ASSERT_TRUE(wait_until([&] { return rig.slave.requests() == 2; }));
  rig.slave.close_port();
  rig.loop.run_until([&] { return polling.ended(); });
  EXPECT_EQ(polling.samples()[0].value, tl::unexpected{BusFault::port_gone});
}

TEST_P(PortOn, answers_at_once_between_two_tries_to_open_it) {
  Rig rig{GetParam(), kOneProbe};
  rig.slave.close_port();
  const auto start = rig.clock.now().mono;
  for (int i = 0; i < 200; ++i) {
    ASSERT_EQ(rig.poll({0})[0].value, tl::unexpected{BusFault::port_gone});
  }
  EXPECT_LT(rig.clock.now().mono - start, seconds{10}) << "they would wait for half a minute";
}

TEST(SerialPort, belongs_to_the_first_who_opens_it) {
  BusLog log;
  Rig rig{Slave::Transport::pty, kOneProbe};
  rig.slave.set_holding(1, 0, 10);
  ASSERT_EQ(rig.poll({0})[0].value, 10.0);
  const auto second =
      std::make_unique<modbus::Bus>(rig.settings, kOneProbe, rig.clock, rig.loop.post());
  const Polling in_vain{*second, {0}};
  rig.loop.run_until([&] { return in_vain.ended(); });
  EXPECT_EQ(in_vain.samples()[0].value, tl::unexpected{BusFault::port_gone});
  EXPECT_EQ(log.count("in use by another program"), 1) << log.text();
  EXPECT_EQ(rig.poll({0})[0].value, 10.0) << "the loser must not disturb the owner";

  rig.bus.reset();
  std::this_thread::sleep_for(milliseconds{100});  // past the loser's back-off
  const Polling again{*second, {0}};
  rig.loop.run_until([&] { return again.ended(); });
  EXPECT_EQ(again.samples()[0].value, 10.0);
}

TEST(SerialPort, can_not_be_opened_by_a_program_that_ignores_locks) {
  Rig rig{Slave::Transport::pty, kOneProbe};
  rig.slave.set_holding(1, 0, 10);
  ASSERT_EQ(rig.poll({0})[0].value, 10.0);
  const int descriptor = ::open(rig.slave.path().c_str(), O_RDWR | O_NOCTTY | O_CLOEXEC);
  const int error = errno;
  // The superuser passes TIOCEXCL (ioctl_tty(2)); everybody else gets EBUSY.
  if (::geteuid() == 0) {
    EXPECT_GE(descriptor, 0);
  } else {
    EXPECT_EQ(descriptor, -1);
    EXPECT_EQ(error, EBUSY);
  }
  if (descriptor >= 0) {
    ::close(descriptor);
  }
}

TEST(TcpPort, may_be_given_by_name) {
  Rig rig{Slave::Transport::tcp, kOneProbe};
  rig.slave.set_holding(1, 0, 10);
  auto settings = rig.settings;
  settings.port = modbus::TcpPort{"localhost", rig.slave.port()};
  rig.bus = std::make_unique<modbus::Bus>(settings, kOneProbe, rig.clock, rig.loop.post());
  EXPECT_EQ(rig.poll({0})[0].value, 10.0);
}

TEST(TcpPort, is_gone_where_nobody_listens) {
  Rig rig{Slave::Transport::tcp, kOneProbe};
  auto settings = rig.settings;
  settings.port = modbus::TcpPort{"::1", 1};  // an IPv6 literal is understood, and refused at once
  rig.bus = std::make_unique<modbus::Bus>(settings, kOneProbe, rig.clock, rig.loop.post());
  EXPECT_EQ(rig.poll({0})[0].value, tl::unexpected{BusFault::port_gone});
}

TEST(BusSettings, that_can_not_work_are_refused_at_the_start) {
  MachineClock clock;
  Loop loop;
  modbus::BusSettings settings;
  settings.port = modbus::SerialPort{"", 9600, modbus::Parity::none, 1};
  EXPECT_THROW(modbus::Bus(settings, {}, clock, loop.post()), std::runtime_error);
  settings.port = modbus::TcpPort{"127.0.0.1", 502};
  settings.reply_timeout = Duration::zero();
  EXPECT_THROW(modbus::Bus(settings, {}, clock, loop.post()), std::runtime_error);
}

}  // namespace
}  // namespace limegate::test
