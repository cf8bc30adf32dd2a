#pragma once

#include <functional>
#include <memory>
#include <vector>

#include "modbus/settings.h"
#include "ports/bus.h"
#include "ports/clock.h"
#include "ports/outlet.h"

namespace limegate::modbus {

/// A Modbus RTU line or TCP connection with its probes and outlets. Start reading here.
///
/// One thread a bus does all the talking; nothing else touches libmodbus. Off commands overtake
/// waiting reads and are looked for between two round trips of a poll or a run, so an off waits
/// for at most one round trip (one reply timeout on a bad line). Idle, the thread sleeps without
/// waking. Each request is answered by exactly one call of `post`.
///
/// A board's communication-loss timer needs to hear from somebody: while an outlet runs, the
/// caller reads it back (or polls a probe of the same unit) more often than that timer allows.
/// Threads: all calls from the loop thread.
class Bus final : public ports::Bus {
 public:
  /// Runs a function in the loop thread, later; must not block. Called from the bus thread, and
  /// from the loop thread for what is refused at once.
  using Post = std::function<void(std::function<void()>)>;

  /// Opens nothing yet: the port is opened by the first request, and again whenever it is lost.
  /// `clock` stamps samples and judges `send_before`; it must outlive the bus.
  /// Throws std::runtime_error for settings that libmodbus can't take.
  Bus(const BusSettings& settings, std::vector<ProbeSettings> probes, const ports::Clock& clock,
      Post post);

  /// Finishes the request on the wire and the off commands that wait, switches off every outlet
  /// whose end was the driver's to give (one try each), and joins the thread. Replies not yet
  /// delivered are dropped: none is called once the destructor has begun.
  ~Bus() override;
  Bus(const Bus&) = delete;
  Bus(Bus&&) = delete;
  Bus& operator=(const Bus&) = delete;
  Bus& operator=(Bus&&) = delete;

  /// A poll while another is outstanding, or with a full queue (256 jobs), answers backing_off
  /// for every probe without asking.
  void poll(std::vector<std::size_t> probes, PollReply reply) override;

  /// The destructor of a bus that hangs does not come back.
  [[nodiscard]] bool hangs() const override;

  /// A switched output of this bus; the bus must outlive it. Destroying it switches nothing off,
  /// but a driver deadline that is running stays armed.
  ///
  /// `off` tries up to three times (write, read back) and gives way to other off commands between
  /// tries; it withdraws every run_for of this outlet that was not sent yet ({no, timed_out}).
  /// `run_for` and `read_back` are not tried while the unit backs off ({no, backing_off}). With a
  /// full queue every call answers {no, timed_out}.
  [[nodiscard]] std::unique_ptr<ports::Outlet> outlet(const OutletSettings& settings);

  class Worker;  ///< the bus thread and what it owns

 private:
  std::unique_ptr<Worker> worker_;
};

}  // namespace limegate::modbus
