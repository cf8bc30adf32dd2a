#pragma once

#include <atomic>
#include <cstdint>
#include <functional>
#include <memory>
#include <string>

#include <tl/expected.hpp>

#include "modbus/frame.h"
#include "modbus/patience.h"
#include "modbus/port_lock.h"
#include "modbus/settings.h"
#include "ports/outlet.h"

// libmodbus keeps its context opaque under this name.
struct _modbus;  // NOLINT(bugprone-reserved-identifier): the name is not ours

namespace limegate::modbus {

/// Whether a request may be held back to spare the bus. Off commands are insistent: they are tried
/// while a port or device backs off, and an insistent write does not wait for a line to fall
/// silent. Its echo carries address and value, so no late answer to a read passes for it.
enum class Insistence { patient, insistent };

/// How a request is to be made.
struct Terms {
  Insistence insistence = Insistence::patient;
  /// Asked immediately before the first byte; false sends nothing and gives {Sent::no, timed_out}.
  std::function<bool()> still_wanted;
};

using Exchange = tl::expected<Words, ports::OutletFault>;

/// One serial line or TCP connection, and the only user of libmodbus.
///
/// No answer is believed that may belong to an earlier request: after a missing or bad answer a
/// serial line must be silent for `reply_timeout` before the next request, and a TCP connection is
/// replaced. libmodbus's own recovery stays off, because it can loop for ever on a vanished port.
/// Threads: used by one thread only. Blocks for up to about five reply timeouts on a bad line, one
/// on a good one. A host given by name is looked up at each opening, which may block for longer.
class Line {
 public:
  /// Opens nothing yet. Throws std::runtime_error for settings that libmodbus can't take.
  explicit Line(const BusSettings& settings);
  ~Line();
  Line(const Line&) = delete;
  Line(Line&&) = delete;
  Line& operator=(const Line&) = delete;
  Line& operator=(Line&&) = delete;

  /// Sends one request and gives its checked answer. The port is opened first where needed.
  /// Errors: {no, port_gone} when it can't be opened; {no, corrupt_reply} when a serial line does
  /// not fall silent; {maybe, ...} for everything after the first byte.
  [[nodiscard]] Exchange exchange(const Request& request, const Terms& terms);

  /// How often the port has been opened: a device may have been replaced or reset in between.
  [[nodiscard]] std::uint64_t openings() const { return openings_; }

  /// When the newest request was begun. May be called from any thread.
  [[nodiscard]] Instant begun_at() const { return Instant{Duration{begun_at_}}; }

 private:
  [[nodiscard]] bool is_serial() const;
  [[nodiscard]] bool open();
  [[nodiscard]] bool open_port();
  void close();
  void lose(const std::string& cause);
  void drop_dead_connection();
  [[nodiscard]] bool fall_silent();
  void discard_pending();
  void keep_frame_gap() const;
  [[nodiscard]] Exchange receive(const Request& request);
  [[nodiscard]] ports::BusFault fault_of(int error);
  void distrust();

  BusSettings settings_;
  std::unique_ptr<_modbus, void (*)(_modbus*)> context_;
  PortLock lock_;
  Patience patience_;
  Duration frame_gap_;
  std::string cause_;  ///< why the port is gone, as logged last
  bool open_ = false;
  bool distrusted_ = false;  ///< serial: bytes of an earlier request may still arrive
  Instant last_byte_;        ///< or the last failure: when silence began at the latest
  std::uint64_t openings_ = 0;
  std::atomic<Duration::rep> begun_at_{0};
};

}  // namespace limegate::modbus
