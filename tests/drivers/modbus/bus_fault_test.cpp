// What the bus makes of a misbehaving device, over both wires, on real frames.
#include <atomic>
#include <chrono>
#include <ostream>
#include <random>
#include <string>
#include <thread>
#include <tuple>

#include <gtest/gtest.h>

#include "drivers/modbus/rig.h"
#include "support/wait_until.h"

namespace limegate::test {
namespace {

using ports::BusFault;
using std::chrono::milliseconds;

/// After the reply timeout, within the silence that follows it.
constexpr milliseconds kLate = 3 * kReplyTimeout / 2;
/// For each byte; an answer has seven at least.
constexpr milliseconds kTrickle = 3 * kReplyTimeout / 5;

struct Case {
  const char* name;
  SlaveFault fault;
  BusFault expected;
};
std::ostream& operator<<(std::ostream& out, const Case& row) { return out << row.name; }

const Case kCases[] = {
    {"no_answer", {.how = Misbehaviour::silent}, BusFault::timed_out},
    {"lost_answer", {.how = Misbehaviour::drop_reply}, BusFault::timed_out},
    {"late_answer", {.how = Misbehaviour::late, .delay = kLate}, BusFault::timed_out},
    {"half_a_frame", {.how = Misbehaviour::half_frame}, BusFault::timed_out},
    {"trickling_bytes", {.how = Misbehaviour::trickle, .delay = kTrickle}, BusFault::timed_out},
    {"exception", {.how = Misbehaviour::exception, .code = 2}, BusFault::refused_by_device},
    {"gateway_without_its_device",
     {.how = Misbehaviour::exception, .code = 11},
     BusFault::timed_out},
    {"unknown_exception", {.how = Misbehaviour::exception, .code = 77}, BusFault::corrupt_reply},
    {"wrong_unit", {.how = Misbehaviour::wrong_unit}, BusFault::corrupt_reply},
    {"wrong_length", {.how = Misbehaviour::wrong_length}, BusFault::corrupt_reply},
    {"wrong_byte_count", {.how = Misbehaviour::wrong_byte_count}, BusFault::corrupt_reply},
    {"wrong_function", {.how = Misbehaviour::wrong_function}, BusFault::corrupt_reply},
    {"wrong_check", {.how = Misbehaviour::bad_check}, BusFault::corrupt_reply},
    {"stray_byte", {.how = Misbehaviour::stray_byte}, BusFault::corrupt_reply},
};

std::string name_of(Slave::Transport wire) { return wire == Slave::Transport::tcp ? "tcp" : "pty"; }

modbus::ProbeSettings probe_at(std::uint16_t address, int unit = 1) {
  modbus::ProbeSettings probe;
  probe.unit = unit;
  probe.address = address;
  return probe;
}

using FaultOnWire = std::tuple<Slave::Transport, Case>;
class BusFaultTable : public testing::TestWithParam<FaultOnWire> {};
INSTANTIATE_TEST_SUITE_P(Wires, BusFaultTable,
                         testing::Combine(testing::Values(Slave::Transport::tcp,
                                                          Slave::Transport::pty),
                                          testing::ValuesIn(kCases)),
                         [](const auto& row) {
                           return std::get<1>(row.param).name + std::string{"_"} +
                                  name_of(std::get<0>(row.param));
                         });

/// Polls until a value comes, giving the register a new value before each poll, and checks that
/// the value is the new one. Returns the number of polls, 0 if none came.
int polls_until_value(Rig& rig, std::uint16_t first_value) {
  int polls = 0;
  const bool came = wait_until([&] {
    const auto value = static_cast<std::uint16_t>(first_value + ++polls);
    rig.slave.set_holding(1, 0, value);
    const auto samples = rig.poll({0});
    EXPECT_EQ(samples[0].value.value_or(value), value) << "a value of an earlier poll was believed";
    return samples[0].value.has_value();
  });
  return came ? polls : 0;
}

TEST_P(BusFaultTable, is_named_and_survived) {
  const auto& [wire, row] = GetParam();
  Rig rig{wire, {probe_at(0)}};
  EXPECT_EQ(polls_until_value(rig, 100), 1);
  for (std::uint16_t round = 1; round <= 2; ++round) {
    rig.slave.set_holding(1, 0, round);
    rig.slave.script(row.fault);
    const auto samples = rig.poll({0});
    ASSERT_FALSE(samples[0].value.has_value()) << *samples[0].value;
    EXPECT_EQ(samples[0].value.error(), row.expected);
    // A silent unit backs off for 40 ms here; whatever else happened is over by the next poll.
    const int polls = polls_until_value(rig, static_cast<std::uint16_t>(round * 200));
    EXPECT_GE(polls, 1);
    if (row.expected != BusFault::timed_out) {
      EXPECT_EQ(polls, 1);
    }
  }
}

class BusOnWire : public testing::TestWithParam<Slave::Transport> {};
INSTANTIATE_TEST_SUITE_P(Wires, BusOnWire,
                         testing::Values(Slave::Transport::tcp, Slave::Transport::pty),
                         [](const auto& wire) { return name_of(wire.param); });

TEST_P(BusOnWire, never_believes_a_value_of_another_poll_or_probe) {
  // Each register tells its address in the high byte and its poll in the low byte.
  std::vector<modbus::ProbeSettings> probes;
  for (std::uint16_t i = 0; i < 6; i += 2) {
    probes.push_back(probe_at(i, 1 + i % 4));
  }
  Rig rig{GetParam(), probes};
  const unsigned seed = 4711;
  std::mt19937 random{seed};
  std::uniform_int_distribution<std::size_t> any_fault{0, std::size(kCases) * 3};
  int believed = 0;
  for (int poll = 0; poll < 60; ++poll) {
    for (const auto& probe : probes) {
      const auto value = static_cast<std::uint16_t>((probe.address << 8) + poll);
      rig.slave.set_holding(probe.unit, probe.address, value);
    }
    if (const auto pick = any_fault(random); pick < std::size(kCases)) {
      rig.slave.script(kCases[pick].fault);
    }
    std::this_thread::sleep_for(milliseconds{15});  // or all polls fall into the first back-off
    const auto samples = rig.poll({2, 0, 1});
    ASSERT_EQ(samples.size(), 3U);
    for (const auto& sample : samples) {
      if (!sample.value) {
        continue;
      }
      ASSERT_EQ(*sample.value, (probes[sample.probe].address << 8) + poll) << "seed " << seed;
      ++believed;
    }
  }
  EXPECT_GT(believed, 60);
}

TEST_P(BusOnWire, does_not_take_a_late_answer_for_the_next) {
  // The unit is asked again 5 ms after its timeout, while the late answer is still to come.
  Rig rig{GetParam()};
  rig.change([](modbus::BusSettings& settings) { settings.retry_first = milliseconds{5}; },
             {probe_at(0)});
  rig.slave.set_holding(1, 0, 1);
  ASSERT_EQ(rig.poll({0})[0].value, 1.0);
  for (const int late_ms : {10, 20, 35, 50}) {
    const auto value = static_cast<std::uint16_t>(late_ms * 100);
    rig.slave.set_holding(1, 0, value);
    SlaveFault late{.how = Misbehaviour::late};
    late.delay = kReplyTimeout + milliseconds{late_ms};
    // On a busy machine it may be read before the timeout is noticed; then it is the right answer.
    ASSERT_TRUE(wait_until([&] {
      rig.slave.script(late);
      const auto read = rig.poll({0})[0].value;
      EXPECT_EQ(read.value_or(value), value);
      return read == tl::unexpected{BusFault::timed_out};
    }));
    EXPECT_GE(polls_until_value(rig, value), 1);
  }
}

TEST_P(BusOnWire, holds_a_call_no_longer_than_the_timeout_while_bytes_trickle) {
  Rig rig{GetParam(), {probe_at(0)}};
  rig.slave.set_holding(1, 0, 1);
  (void)rig.poll({0});
  // Seven bytes at least, each within the timeout: one for each byte would believe them.
  rig.slave.script({.how = Misbehaviour::trickle, .delay = 4 * kReplyTimeout / 5});
  const auto start = rig.clock.now().mono;
  EXPECT_FALSE(rig.poll({0})[0].value.has_value());
  EXPECT_LT(rig.clock.now().mono - start, 4 * kReplyTimeout);
}

TEST_P(BusOnWire, answers_each_probe_asked_for_in_order_with_its_time) {
  auto bit = probe_at(3, 2);
  bit.table = modbus::Table::discrete_input;
  auto input = probe_at(1, 1);
  input.table = modbus::Table::input_register;
  Rig rig{GetParam(), {probe_at(0), probe_at(1), bit, input}};
  rig.slave.set_holding(1, 0, 10);
  rig.slave.set_holding(1, 1, 11);
  rig.slave.set_input(2, 3, true);
  rig.slave.set_input_register(1, 1, 14);
  const auto before = rig.clock.now().mono;
  const auto samples = rig.poll({3, 2, 1, 0, 99});
  ASSERT_EQ(samples.size(), 5U);
  const double expected[] = {14, 1, 11, 10};
  for (std::size_t i = 0; i < 4; ++i) {
    EXPECT_EQ(samples[i].probe, 3 - i);
    EXPECT_EQ(samples[i].value, expected[i]);
    EXPECT_GE(samples[i].at, before);
    EXPECT_LE(samples[i].at, rig.clock.now().mono);
  }
  EXPECT_EQ(samples[4].value, tl::unexpected{BusFault::refused_by_device});
  EXPECT_EQ(rig.slave.requests(), 3) << "the two holding registers go in one round trip";
}

TEST_P(BusOnWire, asks_each_alone_after_a_joined_read_was_refused) {
  Rig rig{GetParam(), {probe_at(0), probe_at(1)}};
  rig.slave.set_holding(1, 0, 10);  // address 1 does not exist
  (void)rig.poll({0, 1});
  const auto samples = rig.poll({0, 1});
  EXPECT_EQ(samples[0].value, 10.0);
  EXPECT_EQ(samples[1].value, tl::unexpected{BusFault::refused_by_device});
}

TEST_P(BusOnWire, refuses_a_second_poll_while_one_is_outstanding) {
  Rig rig{GetParam(), {probe_at(0)}};
  rig.slave.set_holding(1, 0, 10);
  const Polling first{*rig.bus, {0}};
  const Polling second{*rig.bus, {0}};
  rig.loop.run_until([&] { return first.ended() && second.ended(); });
  EXPECT_EQ(first.samples()[0].value, 10.0);
  EXPECT_EQ(second.samples()[0].value, tl::unexpected{BusFault::backing_off});
}

TEST_P(BusOnWire, asks_a_dead_unit_ever_more_rarely_and_the_others_each_time) {
  Rig rig{GetParam(), {probe_at(0, 9), probe_at(0, 1)}};
  rig.slave.set_holding(1, 0, 10);
  int backed_off = 0;
  const auto begin = rig.clock.now().mono;
  int polls = 0;
  for (; rig.slave.requests(9) < 5; ++polls) {
    const auto samples = rig.poll({0, 1});
    ASSERT_EQ(samples[1].value, 10.0);
    ASSERT_FALSE(samples[0].value.has_value());
    backed_off += samples[0].value.error() == BusFault::backing_off ? 1 : 0;
    std::this_thread::sleep_for(milliseconds{10});  // polls are paced, as a loop's are
  }
  // Tries: at 0, then 40, 80, 160, 160 ms after the timeout of the one before.
  EXPECT_GE(rig.clock.now().mono - begin, 4 * kReplyTimeout + milliseconds{440});
  EXPECT_EQ(backed_off, polls - rig.slave.requests(9));
}

TEST_P(BusOnWire, believes_a_dead_unit_again_when_it_answers) {
  Rig rig{GetParam()};
  rig.change([](modbus::BusSettings& settings) { settings.retry_first = std::chrono::seconds{2}; },
             {probe_at(0)});
  rig.slave.set_holding(1, 0, 10);
  rig.slave.script({.how = Misbehaviour::silent, .requests = 3});
  EXPECT_EQ(rig.poll({0})[0].value, tl::unexpected{BusFault::timed_out});
  EXPECT_EQ(rig.poll({0})[0].value, tl::unexpected{BusFault::backing_off});
  EXPECT_GT(polls_until_value(rig, 500), 1);
  EXPECT_TRUE(rig.poll({0})[0].value.has_value());
}

TEST_P(BusOnWire, keeps_asking_a_unit_that_refuses) {
  Rig rig{GetParam(), {probe_at(0)}};
  rig.slave.set_holding(1, 0, 10);
  rig.slave.script({.how = Misbehaviour::exception, .requests = 3, .code = 4});
  for (int i = 0; i < 3; ++i) {
    EXPECT_EQ(rig.poll({0})[0].value, tl::unexpected{BusFault::refused_by_device});
  }
  EXPECT_EQ(rig.poll({0})[0].value, 10.0);
}

TEST_P(BusOnWire, costs_others_one_timeout_for_a_unit_that_dies) {
  std::atomic<int> dead_asked = 0;
  Rig rig{GetParam(), {probe_at(0, 9), probe_at(0, 1)}};
  rig.slave.set_holding(1, 0, 10);
  (void)rig.poll({0, 1});
  std::this_thread::sleep_for(milliseconds{150});  // past the back-off
  rig.slave.on_request([&](const Slave::Event&) { dead_asked = rig.slave.requests(9); });
  const auto samples = rig.poll({0, 1});
  EXPECT_EQ(samples[0].value, tl::unexpected{BusFault::timed_out});
  EXPECT_EQ(samples[1].value, 10.0);
  EXPECT_EQ(rig.slave.requests(9), 2);
  EXPECT_EQ(dead_asked, 1) << "the failing unit is asked last";
}

TEST_P(BusOnWire, delivers_each_answer_when_it_has_it) {
  Rig rig{GetParam(), {probe_at(0, 9), probe_at(0, 1)}};
  rig.slave.set_holding(1, 0, 10);
  (void)rig.poll({0, 1});
  std::this_thread::sleep_for(milliseconds{150});  // past the back-off: it is tried again
  const Polling polling{*rig.bus, {0, 1}};
  rig.loop.run_until([&] { return !polling.got().empty(); });
  EXPECT_FALSE(polling.ended()) << "the dead unit is still listened for";
  EXPECT_EQ(polling.got()[0].probe, 1U);
  EXPECT_EQ(polling.got()[0].value, 10.0);
  rig.loop.run_until([&] { return polling.ended(); });
  EXPECT_EQ(polling.samples()[0].value, tl::unexpected{BusFault::timed_out});
}

TEST_P(BusOnWire, tries_one_dead_unit_in_a_poll_and_all_of_them_in_turn) {
  Rig rig{GetParam(), {probe_at(0, 7), probe_at(0, 8), probe_at(0, 9), probe_at(0, 1)}};
  rig.slave.set_holding(1, 0, 10);
  (void)rig.poll({0, 1, 2, 3});
  for (const int round : {1, 2, 3}) {
    std::this_thread::sleep_for(milliseconds{200});  // past every back-off
    const auto samples = rig.poll({0, 1, 2, 3});
    EXPECT_EQ(samples[3].value, 10.0);
    const auto tried = std::count_if(samples.begin(), samples.end(), [](const auto& sample) {
      return sample.value == tl::unexpected{BusFault::timed_out};
    });
    EXPECT_EQ(tried, 1) << "round " << round;
  }
  for (const int unit : {7, 8, 9}) {
    EXPECT_EQ(rig.slave.requests(unit), 2) << "unit " << unit;
  }
}

TEST_P(BusOnWire, hears_all_dead_units_that_live_again_in_one_poll) {
  Rig rig{GetParam(), {probe_at(0, 7), probe_at(0, 8)}};
  (void)rig.poll({0, 1});
  rig.slave.set_holding(7, 0, 70);
  rig.slave.set_holding(8, 0, 80);
  std::this_thread::sleep_for(milliseconds{200});
  const auto samples = rig.poll({0, 1});
  EXPECT_EQ(samples[0].value, 70.0);
  EXPECT_EQ(samples[1].value, 80.0);
}

}  // namespace
}  // namespace limegate::test
