#pragma once

#include <algorithm>
#include <chrono>
#include <condition_variable>
#include <deque>
#include <functional>
#include <memory>
#include <mutex>
#include <optional>
#include <stdexcept>
#include <utility>
#include <vector>

#include <gtest/gtest.h>

#include "modbus/bus.h"
#include "support/slave.h"
#include "support/test_clocks.h"

namespace limegate::test {

/// The loop thread of a test: what the bus posts runs when the test waits for it.
class Loop {
 public:
  [[nodiscard]] modbus::Bus::Post post() {
    return [this](std::function<void()> task) {
      {
        const std::lock_guard lock{mutex_};
        tasks_.push_back(std::move(task));
      }
      changed_.notify_one();
    };
  }

  /// Runs tasks until `done`; throws after a minute.
  template <class Done>
  void run_until(Done done) {
    const auto give_up = std::chrono::steady_clock::now() + std::chrono::seconds{60};
    while (!done()) {
      std::unique_lock lock{mutex_};
      if (!changed_.wait_until(lock, give_up, [this] { return !tasks_.empty(); })) {
        throw std::runtime_error("the bus did not reply");
      }
      auto task = std::move(tasks_.front());
      tasks_.pop_front();
      lock.unlock();
      task();
    }
  }

  void run_pending() {
    while (true) {
      std::unique_lock lock{mutex_};
      if (tasks_.empty()) {
        return;
      }
      auto task = std::move(tasks_.front());
      tasks_.pop_front();
      lock.unlock();
      task();
    }
  }

 private:
  std::mutex mutex_;
  std::condition_variable changed_;
  std::deque<std::function<void()>> tasks_;
};

/// An outlet's reply in a form that can be compared.
struct Fault {
  ports::Sent sent;
  ports::BusFault cause;
  friend bool operator==(const Fault&, const Fault&) = default;
};
using Switched = tl::expected<ports::OutletState, Fault>;

[[nodiscard]] inline Switched comparable(const ports::OutletAnswer& reply) {
  if (reply) {
    return reply->state;
  }
  return tl::unexpected{Fault{reply.error().sent, reply.error().cause}};
}

/// A poll, and what it gave so far. It must have ended before it goes.
class Polling {
 public:
  Polling(modbus::Bus& bus, std::vector<std::size_t> probes) : probes_(std::move(probes)) {
    bus.poll(probes_, [this](const ports::Answers& answers) {
      EXPECT_FALSE(ended_) << "nothing comes after the last";
      got_.insert(got_.end(), answers.samples.begin(), answers.samples.end());
      ended_ = answers.last;
    });
  }
  Polling(const Polling&) = delete;
  Polling(Polling&&) = delete;
  Polling& operator=(const Polling&) = delete;
  Polling& operator=(Polling&&) = delete;
  ~Polling() = default;

  [[nodiscard]] bool ended() const { return ended_; }
  /// In the order in which they came.
  [[nodiscard]] const std::vector<ports::Sample>& got() const { return got_; }
  /// In the order in which they were asked for: exactly one of each probe.
  [[nodiscard]] std::vector<ports::Sample> samples() const {
    EXPECT_EQ(got_.size(), probes_.size());
    std::vector<ports::Sample> samples;
    for (const std::size_t probe : probes_) {
      const auto found = std::find_if(got_.begin(), got_.end(), [&](const ports::Sample& sample) {
        return sample.probe == probe;
      });
      EXPECT_NE(found, got_.end()) << "probe " << probe;
      samples.push_back(found == got_.end() ? ports::Sample{} : *found);
    }
    return samples;
  }

 private:
  std::vector<std::size_t> probes_;
  std::vector<ports::Sample> got_;
  bool ended_ = false;
};

/// Long enough for a slave on a busy machine, short enough to be waited for again and again.
constexpr std::chrono::milliseconds kReplyTimeout{300};
/// Where no answer is missing, or what a test does must be done before the timeout. A serial line
/// that was opened is listened to for as long.
constexpr std::chrono::milliseconds kPatientTimeout{3000};

[[nodiscard]] inline modbus::BusSettings settings_for(const Slave& slave,
                                                      Slave::Transport transport,
                                                      Duration reply_timeout) {
  modbus::BusSettings settings;
  settings.name = "test";
  settings.reply_timeout = reply_timeout;
  settings.retry_first = std::chrono::milliseconds{40};
  settings.retry_max = std::chrono::milliseconds{160};
  if (transport == Slave::Transport::tcp) {
    settings.port = modbus::TcpPort{"127.0.0.1", slave.port()};
  } else {
    settings.port = modbus::SerialPort{slave.path(), 115200, modbus::Parity::none, 1};
  }
  return settings;
}

/// A scripted slave and a bus that talks to it.
struct Rig {
  explicit Rig(Slave::Transport transport, std::vector<modbus::ProbeSettings> probes = {},
               Duration reply_timeout = kReplyTimeout)
      : slave(transport, clock),
        settings(settings_for(slave, transport, reply_timeout)),
        bus(std::make_unique<modbus::Bus>(settings, std::move(probes), clock, loop.post())) {}

  [[nodiscard]] std::vector<ports::Sample> poll(const std::vector<std::size_t>& probes) {
    const Polling polling{*bus, probes};
    loop.run_until([&] { return polling.ended(); });
    return polling.samples();
  }
  [[nodiscard]] Switched off(ports::Outlet& outlet) {
    return wait([&](auto reply) { outlet.off(std::move(reply)); });
  }
  [[nodiscard]] Switched read_back(ports::Outlet& outlet) {
    return wait([&](auto reply) { outlet.read_back(std::move(reply)); });
  }
  [[nodiscard]] Switched run_for(ports::Outlet& outlet, Duration duration,
                                 Duration patience = std::chrono::seconds{60}) {
    return wait([&](auto reply) {
      outlet.run_for(duration, clock.now().mono + patience, std::move(reply));
    });
  }

  /// Other settings, as on a bus made anew.
  void change(const std::function<void(modbus::BusSettings&)>& how,
              std::vector<modbus::ProbeSettings> probes = {}) {
    how(settings);
    bus = std::make_unique<modbus::Bus>(settings, std::move(probes), clock, loop.post());
  }

  MachineClock clock;
  Slave slave;
  Loop loop;
  modbus::BusSettings settings;
  std::unique_ptr<modbus::Bus> bus;

 private:
  template <class Ask>
  Switched wait(Ask ask) {
    std::optional<Switched> got;
    ask(ports::Outlet::Reply{[&](const auto& reply) { got = comparable(reply); }});
    loop.run_until([&] { return got.has_value(); });
    return *got;
  }
};

}  // namespace limegate::test
