#pragma once

#include <atomic>
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <thread>
#include <vector>

#include "modbus/bus.h"
#include "modbus/devices.h"
#include "modbus/lanes.h"
#include "modbus/line.h"
#include "modbus/probe_reader.h"
#include "modbus/relay.h"

namespace limegate::modbus {

/// One outlet as both threads see it.
struct Channel {
  Channel(const OutletSettings& settings, Devices& devices, const ports::Clock& clock);

  Relay relay;           ///< bus thread only
  Patience off_retries;  ///< bus thread only: tries at a driver deadline
  /// Bus thread only: as it was when such a try failed. What has changed since is a reason to try
  /// again at once.
  struct Failed {
    Devices::Contact contact;
    bool silent = false;
  };
  std::optional<Failed> failed = {};
  std::atomic<std::uint64_t> offs_asked{0};  ///< counted in the loop thread, at each off()
};

/// The bus thread and what it owns. Jobs run in it one after another; see Bus for the promises.
class Bus::Worker {
 public:
  using ChannelPtr = std::shared_ptr<Channel>;

  Worker(const BusSettings& settings, std::vector<ProbeSettings> probes, const ports::Clock& clock,
         Post post);
  ~Worker();
  Worker(const Worker&) = delete;
  Worker(Worker&&) = delete;
  Worker& operator=(const Worker&) = delete;
  Worker& operator=(Worker&&) = delete;

  // All of these are called from the loop thread.
  void poll(const std::vector<std::size_t>& probes, const PollReply& reply);
  [[nodiscard]] ChannelPtr channel(const OutletSettings& settings);
  void run_for(const ChannelPtr& channel, Duration duration, Instant send_before,
               const ports::Outlet::Reply& to_caller);
  void off(const ChannelPtr& channel, const ports::Outlet::Reply& to_caller);
  void read_back(const ChannelPtr& channel, const ports::Outlet::Reply& to_caller);
  [[nodiscard]] bool hangs() const;

 private:
  void work();
  void serve_urgent();
  void end_overdue();
  void try_end(Channel& channel);
  void owe(const ChannelPtr& channel);
  static void note_failure(Channel& channel);
  void arm(const ChannelPtr& channel);
  void pause(Duration wait);
  void perform_off(const ChannelPtr& channel, int tries_left, const ports::Outlet::Reply& reply);
  [[nodiscard]] std::optional<Instant> next_deadline() const;
  void queue(Lanes::Lane lane, Lanes::Job job, const ports::Outlet::Reply& reply);
  [[nodiscard]] ports::Outlet::Reply expect(const ports::Outlet::Reply& reply);
  void expect_an_answer();
  template <class Reply, class Result>
  void deliver(const Reply& reply, Result result);

  const std::string name_;
  const ports::Clock& clock_;
  const Post post_;
  const Duration longest_;  ///< that the thread may show no sign of life
  Line line_;
  Devices devices_;
  ProbeReader probes_;
  Lanes lanes_;
  std::vector<ChannelPtr> armed_;  ///< bus thread only: outlets that the driver must switch off
  bool poll_outstanding_ = false;  ///< loop thread only
  int unanswered_ = 0;             ///< loop thread only: of polls and commands
  Instant waiting_since_{};        ///< loop thread only: while anything is unanswered
  std::shared_ptr<bool> alive_ = std::make_shared<bool>(true);  ///< loop thread only
  const std::weak_ptr<bool> watch_ = alive_;                    ///< for posted replies to look at
  std::thread thread_;                                          ///< last: it uses all the others
};

}  // namespace limegate::modbus
