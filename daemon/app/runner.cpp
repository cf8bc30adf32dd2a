#include "app/runner.h"

#include <algorithm>
#include <chrono>
#include <csignal>
#include <optional>

#include <boost/asio/post.hpp>
#include <boost/asio/signal_set.hpp>
#include <boost/asio/steady_timer.hpp>

#include "rules/limits.h"

namespace limegate::app {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

constexpr auto kTick = 1s;
/// How often it is looked whether the end is reached.
constexpr auto kLookEvery = 200ms;
/// Off commands are tried this long before the program ends without their confirmation.
constexpr auto kStopWithin = 5s;
/// After that, with reply timeouts of up to a second.
constexpr auto kHangShowsWithin = 4s;

/// Ticks by a timer, once a second, while commands come and go.
class RealLoop {
 public:
  RealLoop(boost::asio::io_context& loop, World& world, const std::function<void()>& after_tick)
      : world_(world), after_tick_(after_tick), tick_(loop), quick_(loop) {}

  void start() {
    next_ = std::chrono::steady_clock::now();
    tick();
  }
  void stop() {
    stopped_ = true;
    tick_.cancel();
    quick_.cancel();
  }

 private:
  void tick() {
    world_.tick();
    after_tick_();
    if (world_.wants_quick_polls()) {
      arm_quick();
    }
    // After a stall there is nothing to catch up with: the next tick comes in its own time.
    next_ = std::max(next_ + kTick, std::chrono::steady_clock::now());
    tick_.expires_at(next_);
    tick_.async_wait([this](const boost::system::error_code& error) {
      if (!error && !stopped_) {
        tick();
      }
    });
  }

  void arm_quick() {
    if (quick_armed_) {
      return;
    }
    quick_armed_ = true;
    quick_.expires_after(rules::kReadFlowing);
    quick_.async_wait([this](const boost::system::error_code& error) {
      quick_armed_ = false;
      if (!error && !stopped_ && world_.wants_quick_polls()) {
        world_.quick_poll();
        arm_quick();
      }
    });
  }

  World& world_;
  const std::function<void()>& after_tick_;
  boost::asio::steady_timer tick_;
  boost::asio::steady_timer quick_;
  std::chrono::steady_clock::time_point next_;
  bool quick_armed_ = false;
  bool stopped_ = false;
};

/// As long as the pace is in lock step: lets time pass only while nothing is under way, so that a
/// fast clock changes no outcome.
void run_lock_step(boost::asio::io_context& loop, World& world, Pace& pace,
                   const std::function<void()>& after_tick, const bool& stopping) {
  while (pace.kind() == Pace::Kind::lock_step && !stopping) {
    world.tick();
    if (world.wants_quick_polls()) {
      world.quick_poll();  // as often as time passes here
    }
    while (!world.idle() && !stopping) {
      loop.run_one();
    }
    loop.poll();
    after_tick();
    pace.pass(kTick);
  }
}

}  // namespace

bool run_until_stopped(boost::asio::io_context& loop, World& world, Pace& pace,
                       const Milestones& milestones) {
  const auto work = boost::asio::make_work_guard(loop);
  // Whatever asks politely gets every outlet off first; a reader of our output that went away is no
  // reason to die at all.
  boost::asio::signal_set signals{loop, SIGINT, SIGTERM, SIGHUP};
  signals.add(SIGQUIT);
  (void)std::signal(SIGPIPE, SIG_IGN);
  RealLoop real{loop, world, milestones.after_tick};
  bool stopping = false;
  signals.async_wait([&](const boost::system::error_code& error, int /*signal*/) {
    if (!error) {
      stopping = true;
      real.stop();
      loop.stop();
    }
  });
  run_lock_step(loop, world, pace, milestones.after_tick, stopping);
  if (!stopping) {
    real.start();
    loop.run();
  }
  milestones.before_stop();
  std::optional<bool> all_off;
  loop.restart();
  world.stop([&](bool off) { all_off = off; });
  const auto deadline = std::chrono::steady_clock::now() + kStopWithin;
  while ((!all_off || !world.idle()) && std::chrono::steady_clock::now() < deadline) {
    loop.run_one_until(deadline);
  }
  // Whether a bus hangs is seen a little later; with devices that take their time it is not.
  const auto last = deadline + kHangShowsWithin;
  while (!world.outlets_idle() && !world.any_bus_hangs() &&
         std::chrono::steady_clock::now() < last) {
    loop.run_one_for(kLookEvery);
  }
  return all_off.value_or(false);
}

}  // namespace limegate::app
