// Off commands overtake, and what has no timer of its own is switched off by the driver.
#include <atomic>
#include <chrono>
#include <condition_variable>
#include <mutex>
#include <optional>
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

modbus::OutletSettings untimed_settings() {
  modbus::OutletSettings settings;
  settings.unit = 3;
  settings.control.address = kCoil;
  return settings;
}

/// 20 probes that can't be joined, each 15 ms late: a poll takes 300 ms. Its slave can be kept in
/// the middle of a read, for as long as a test needs.
struct SlowRig : Rig {
  static std::vector<modbus::ProbeSettings> probes() {
    std::vector<modbus::ProbeSettings> all(20);
    for (std::size_t i = 0; i < all.size(); ++i) {
      all[i].address = static_cast<std::uint16_t>(2 * i);
    }
    return all;
  }
  explicit SlowRig(Slave::Transport wire) : Rig(wire, probes(), kPatientTimeout) {
    for (const auto& probe : probes()) {
      slave.set_holding(1, probe.address, 1);
    }
    slave.add_outlet({.unit = 3, .address = kCoil});
    slave.script(
        {.how = Misbehaviour::late, .requests = 1000, .unit = 1, .delay = milliseconds{15}});
  }
  ~SlowRig() {
    let_go();
    bus.reset();
    slave.close_port();  // in the slave's thread: nothing of ours is in use there afterwards
  }
  SlowRig(const SlowRig&) = delete;
  SlowRig(SlowRig&&) = delete;
  SlowRig& operator=(const SlowRig&) = delete;
  SlowRig& operator=(SlowRig&&) = delete;

  void start_poll() {
    bus->poll(indices(), [this](const ports::Answers& answers) { polled = answers.last; });
  }
  /// Starts a poll whose second read is on the wire, and stays there until `let_go`.
  void start_poll_and_keep_it() {
    slave.on_request([this](const Slave::Event& event) {
      std::unique_lock lock{mutex_};
      if (event.unit != 1) {
        read_before_off_ = read_;
      } else if (event.phase == Slave::Event::Phase::before && ++read_ == 2) {
        changed_.notify_all();
        changed_.wait(lock, [this] { return let_go_; });
      }
    });
    start_poll();
    std::unique_lock lock{mutex_};
    EXPECT_TRUE(changed_.wait_for(lock, seconds{60}, [this] { return read_ == 2; }));
  }
  void let_go() {
    const std::lock_guard lock{mutex_};
    let_go_ = true;
    changed_.notify_all();
  }
  /// How many reads had been made when the outlet's unit was spoken to last.
  [[nodiscard]] int read_before_off() {
    const std::lock_guard lock{mutex_};
    return read_before_off_;
  }
  static std::vector<std::size_t> indices() {
    std::vector<std::size_t> all(20);
    for (std::size_t i = 0; i < all.size(); ++i) {
      all[i] = i;
    }
    return all;
  }
  bool polled = false;

 private:
  std::mutex mutex_;
  std::condition_variable changed_;
  bool let_go_ = false;
  int read_ = 0;
  int read_before_off_ = 0;
};

class OffOn : public testing::TestWithParam<Slave::Transport> {};
INSTANTIATE_TEST_SUITE_P(Wires, OffOn,
                         testing::Values(Slave::Transport::tcp, Slave::Transport::pty),
                         [](const auto& wire) {
                           return wire.param == Slave::Transport::tcp ? "tcp" : "pty";
                         });

TEST_P(OffOn, overtakes_the_reads_of_a_poll_that_is_under_way) {
  SlowRig rig{GetParam()};
  const auto outlet = rig.bus->outlet(untimed_settings());
  rig.start_poll_and_keep_it();
  std::optional<Switched> off;
  outlet->off([&](const auto& r) { off = comparable(r); });
  rig.let_go();
  rig.loop.run_until([&] { return off.has_value(); });
  EXPECT_EQ(off, OutletState::off);
  EXPECT_FALSE(rig.polled);
  EXPECT_EQ(rig.read_before_off(), 2) << "the read on the wire, and no other";
  rig.loop.run_until([&] { return rig.polled; });
}

TEST_P(OffOn, withdraws_a_run_that_waits) {
  SlowRig rig{GetParam()};
  const auto outlet = rig.bus->outlet(untimed_settings());
  rig.start_poll_and_keep_it();
  std::optional<Switched> run;
  std::optional<Switched> off;
  outlet->run_for(seconds{1}, rig.clock.now().mono + seconds{60},
                  [&](const auto& r) { run = comparable(r); });
  outlet->off([&](const auto& r) { off = comparable(r); });
  rig.let_go();
  rig.loop.run_until([&] { return off.has_value() && run.has_value(); });
  EXPECT_EQ(off, OutletState::off);
  EXPECT_EQ(*run, (tl::unexpected{Fault{Sent::no, BusFault::timed_out}}));
  EXPECT_TRUE(rig.slave.log().empty());
}

TEST_P(OffOn, does_not_withdraw_a_run_asked_for_later) {
  SlowRig rig{GetParam()};
  const auto outlet = rig.bus->outlet(untimed_settings());
  rig.start_poll();
  std::optional<Switched> off;
  outlet->off([&](const auto& r) { off = comparable(r); });
  EXPECT_EQ(rig.run_for(*outlet, seconds{60}), OutletState::on);
  EXPECT_EQ(off, OutletState::off);
}

TEST_P(OffOn, comes_by_itself_at_the_drivers_deadline) {
  Rig rig{GetParam()};
  rig.slave.add_outlet({.unit = 3, .address = kCoil});
  const auto outlet = rig.bus->outlet(untimed_settings());
  // A busy machine may be late with any off, but not with each of many; a late driver is.
  constexpr Duration asked = milliseconds{250};
  Duration on_time = seconds{60};
  for (int i = 0; i < 20 && on_time >= milliseconds{350}; ++i) {
    const Instant began = rig.clock.now().mono;
    const Duration before = rig.slave.on_time(3, kCoil);
    ASSERT_TRUE(rig.run_for(*outlet, asked).has_value());
    ASSERT_TRUE(wait_until([&] { return !rig.slave.is_on(3, kCoil); }));
    EXPECT_GE(rig.slave.log().back().at.mono - began, asked) << "never early";
    on_time = rig.slave.on_time(3, kCoil) - before;
  }
  EXPECT_LT(on_time, milliseconds{350});
  ASSERT_EQ(rig.read_back(*outlet), OutletState::off);  // behind what the driver does after its off
  const int requests = rig.slave.requests();
  std::this_thread::sleep_for(milliseconds{300});  // for a try that must not come
  EXPECT_EQ(rig.slave.requests(), requests) << "confirmed off needs no further try";
}

TEST_P(OffOn, is_tried_at_the_deadline_until_it_is_confirmed) {
  Rig rig{GetParam()};
  rig.slave.add_outlet({.unit = 3, .address = kCoil});
  const auto outlet = rig.bus->outlet(untimed_settings());
  ASSERT_EQ(rig.run_for(*outlet, seconds{1}), OutletState::on);
  rig.slave.close_port();
  std::this_thread::sleep_for(milliseconds{1250});  // past the deadline, for tries that fail
  EXPECT_TRUE(rig.slave.is_on(3, kCoil));
  rig.slave.reopen_port();
  EXPECT_TRUE(wait_until([&] { return !rig.slave.is_on(3, kCoil); }));
}

TEST_P(OffOn, of_the_drivers_own_is_told_with_its_time) {
  Rig rig{GetParam()};
  rig.slave.add_outlet({.unit = 3, .address = kCoil});
  const auto outlet = rig.bus->outlet(untimed_settings());
  const auto read = [&] {
    std::optional<ports::OutletAnswer> answer;
    outlet->read_back([&](const ports::OutletAnswer& got) { answer = got; });
    rig.loop.run_until([&] { return answer.has_value(); });
    return *answer;
  };
  const Instant began = rig.clock.now().mono;
  ASSERT_EQ(rig.run_for(*outlet, milliseconds{500}), OutletState::on);
  auto answer = read();
  while (answer && *answer == OutletState::on) {
    answer = read();
  }
  ASSERT_TRUE(answer && answer->off_since);
  EXPECT_GE(*answer->off_since - began, milliseconds{500});
  EXPECT_LE(*answer->off_since, rig.clock.now().mono);
  EXPECT_EQ(read()->off_since, answer->off_since) << "it stays the time of that off";
  ASSERT_EQ(rig.run_for(*outlet, seconds{20}), OutletState::on);
  EXPECT_FALSE(read()->off_since);
  ASSERT_EQ(rig.off(*outlet), OutletState::off);
  EXPECT_GT(read()->off_since, answer->off_since);
}

// After its unit was silent an off came up to ten seconds late, behind polls of pH.
TEST_P(OffOn, that_reached_nobody_stays_owed) {
  Rig rig{GetParam()};
  rig.slave.add_outlet({.unit = 3, .address = kCoil});
  const auto outlet = rig.bus->outlet(untimed_settings());
  ASSERT_EQ(rig.run_for(*outlet, seconds{60}), OutletState::on);
  rig.slave.script({.how = Misbehaviour::silent, .requests = 1'000'000});
  EXPECT_FALSE(rig.off(*outlet).has_value());
  ASSERT_TRUE(rig.slave.is_on(3, kCoil));
  rig.slave.clear_faults();
  EXPECT_TRUE(wait_until([&] { return !rig.slave.is_on(3, kCoil); })) << "nobody asked again";
}

TEST_P(OffOn, comes_at_the_deadline_also_when_the_answer_to_on_was_lost) {
  Rig rig{GetParam()};
  rig.slave.add_outlet({.unit = 3, .address = kCoil});
  const auto outlet = rig.bus->outlet(untimed_settings());
  ASSERT_EQ(rig.off(*outlet), OutletState::off);
  rig.slave.script({.how = Misbehaviour::drop_reply});
  EXPECT_EQ(rig.run_for(*outlet, 4 * kReplyTimeout),
            (tl::unexpected{Fault{Sent::maybe, BusFault::timed_out}}));
  ASSERT_TRUE(rig.slave.is_on(3, kCoil));
  EXPECT_TRUE(wait_until([&] { return !rig.slave.is_on(3, kCoil); }));
}

TEST_P(OffOn, comes_at_the_deadline_in_the_middle_of_a_long_poll) {
  // What reaches the slave from the deadline on until the off: one read, if it was on the wire.
  std::mutex mutex;
  Instant deadline = Instant::max();
  int reads = 0;
  SlowRig rig{GetParam()};
  const auto outlet = rig.bus->outlet(untimed_settings());
  rig.slave.on_request([&](const Slave::Event& event) {
    const std::lock_guard lock{mutex};
    const Instant now = rig.clock.now().mono;
    if (event.phase == Slave::Event::Phase::after && event.function == 5) {
      deadline = rig.slave.is_on(3, kCoil) ? now + milliseconds{100} : Instant::max();
    } else if (event.phase == Slave::Event::Phase::before && event.unit == 1 && now > deadline) {
      ++reads;
    }
  });
  ASSERT_TRUE(rig.run_for(*outlet, milliseconds{100}).has_value());
  rig.start_poll();
  rig.loop.run_until([&] { return rig.polled; });
  EXPECT_FALSE(rig.slave.is_on(3, kCoil));
  const std::lock_guard lock{mutex};
  EXPECT_LE(reads, 1);
}

TEST_P(OffOn, is_sent_at_once_to_one_unit_while_another_is_dead) {
  std::atomic<int> dead_asked = 0;
  Rig rig{GetParam()};
  rig.slave.add_outlet({.unit = 3, .address = kCoil});
  auto dead_settings = untimed_settings();
  dead_settings.unit = 99;
  const auto dead = rig.bus->outlet(dead_settings);
  const auto alive = rig.bus->outlet(untimed_settings());
  ASSERT_EQ(rig.run_for(*alive, seconds{20}), OutletState::on);
  std::optional<Switched> dead_reply;
  rig.slave.on_request([&](const Slave::Event& event) {
    if (event.phase == Slave::Event::Phase::before && event.function == 5) {
      dead_asked = rig.slave.requests(99);
    }
  });
  dead->off([&](const auto& r) { dead_reply = comparable(r); });
  EXPECT_EQ(rig.off(*alive), OutletState::off);
  EXPECT_FALSE(dead_reply.has_value()) << "the dead one's further tries must wait";
  EXPECT_LE(dead_asked, 1) << "one try of the dead one, and its timeout, is waited for";
  rig.loop.run_until([&] { return dead_reply.has_value(); });
  EXPECT_EQ(*dead_reply, (tl::unexpected{Fault{Sent::maybe, BusFault::timed_out}}));
}

TEST_P(OffOn, is_sent_by_the_destructor_where_the_driver_owes_it) {
  Rig rig{GetParam()};
  rig.slave.add_outlet({.unit = 3, .address = kCoil});
  auto outlet = rig.bus->outlet(untimed_settings());
  ASSERT_EQ(rig.run_for(*outlet, seconds{60}), OutletState::on);
  outlet.reset();
  rig.bus.reset();
  EXPECT_FALSE(rig.slave.is_on(3, kCoil));
}

TEST_P(OffOn, still_goes_out_when_the_bus_is_destroyed_and_its_reply_is_dropped) {
  SlowRig rig{GetParam()};
  auto outlet = rig.bus->outlet(untimed_settings());
  ASSERT_EQ(rig.run_for(*outlet, seconds{60}), OutletState::on);
  rig.start_poll_and_keep_it();
  bool replied = false;
  outlet->off([&](auto) { replied = true; });
  outlet.reset();
  rig.let_go();
  rig.bus.reset();
  EXPECT_EQ(rig.read_before_off(), 2) << "the poll is not finished first";
  EXPECT_FALSE(rig.slave.is_on(3, kCoil));
  rig.loop.run_pending();
  EXPECT_FALSE(replied);
  EXPECT_FALSE(rig.polled);
}

TEST_P(OffOn, is_answered_at_once_when_its_queue_is_full) {
  SlowRig rig{GetParam()};
  const auto outlet = rig.bus->outlet(untimed_settings());
  rig.start_poll_and_keep_it();
  std::size_t answered = 0;
  std::size_t refused = 0;
  constexpr std::size_t asked = 400;
  for (std::size_t i = 0; i < asked; ++i) {
    outlet->read_back([&](const auto& reply) {
      ++answered;
      refused += reply.has_value() ? 0U : 1U;
    });
  }
  rig.loop.run_until([&] { return refused == asked - 256U; });  // while the queue stays full
  EXPECT_EQ(answered, refused);
  rig.let_go();
  rig.loop.run_until([&] { return answered == asked; });
  EXPECT_EQ(refused, asked - 256U);
}

/// A bus thread that hands over a reply and does not come back from it.
class StuckPost {
 public:
  explicit StuckPost(Loop& loop) : to_loop_(loop.post()) {}
  ~StuckPost() { let_go(); }
  StuckPost(const StuckPost&) = delete;
  StuckPost(StuckPost&&) = delete;
  StuckPost& operator=(const StuckPost&) = delete;
  StuckPost& operator=(StuckPost&&) = delete;

  void operator()(std::function<void()> task) {
    std::unique_lock lock{mutex_};
    changed_.wait(lock, [this] { return let_go_; });
    to_loop_(std::move(task));
  }
  void let_go() {
    {
      const std::lock_guard lock{mutex_};
      let_go_ = true;
    }
    changed_.notify_all();
  }

 private:
  modbus::Bus::Post to_loop_;
  std::mutex mutex_;
  std::condition_variable changed_;
  bool let_go_ = false;
};

TEST(HungBus, is_one_that_leaves_something_unanswered_for_longer_than_any_device_can) {
  Rig rig{Slave::Transport::tcp};
  StuckPost stuck{rig.loop};
  modbus::Bus bus{rig.settings, {}, rig.clock, [&](auto task) { stuck(std::move(task)); }};
  const auto pump = bus.outlet({});
  EXPECT_FALSE(bus.hangs());
  bool answered = false;
  pump->off([&](const auto&) { answered = true; });
  EXPECT_FALSE(bus.hangs()) << "it has time";
  EXPECT_TRUE(wait_until([&] { return bus.hangs(); }));
  stuck.let_go();
  rig.loop.run_until([&] { return answered; });
  EXPECT_FALSE(bus.hangs());
}

TEST(HungBus, is_none_whose_devices_are_dead) {
  Rig rig{Slave::Transport::pty};
  rig.slave.script({.how = Misbehaviour::silent, .requests = 1000});
  const auto pump = rig.bus->outlet({});
  const auto stirrer = rig.bus->outlet(
      {.unit = 2, .control = {}, .feedback = {}, .timed_on = {}, .communication_loss = {}});
  for (int round = 0; round < 2; ++round) {
    int answers = 0;
    pump->off([&](const auto&) { ++answers; });
    stirrer->off([&](const auto&) { ++answers; });
    rig.loop.run_until([&] {
      EXPECT_FALSE(rig.bus->hangs());
      return answers == 2;
    });
  }
}

}  // namespace
}  // namespace limegate::test
