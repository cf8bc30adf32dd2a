#include "modbus/line.h"

#include <algorithm>
#include <array>
#include <cerrno>
#include <chrono>
#include <stdexcept>
#include <thread>

#include <modbus.h>
#include <netinet/in.h>
#include <netinet/tcp.h>
#include <poll.h>
#include <spdlog/spdlog.h>
#include <sys/ioctl.h>
#include <sys/socket.h>

#include "modbus/bus_log.h"

namespace limegate::modbus {
namespace {

using ports::BusFault;
using ports::OutletFault;
using ports::Sent;
using std::chrono::steady_clock;

char letter_of(Parity parity) {
  switch (parity) {
    case Parity::none:
      return 'N';
    case Parity::even:
      return 'E';
    case Parity::odd:
      return 'O';
  }
  return 'N';
}

modbus_t* new_context(const BusSettings& settings) {
  if (const auto* serial = std::get_if<SerialPort>(&settings.port)) {
    return modbus_new_rtu(serial->path.c_str(), serial->baud, letter_of(serial->parity), 8,
                          serial->stop_bits);
  }
  const auto& tcp = std::get<TcpPort>(settings.port);
  // The plain modbus_new_tcp knows IPv4 literals only, and no error for anything else.
  return modbus_new_tcp_pi(tcp.host.c_str(), std::to_string(tcp.tcp_port).c_str());
}

/// Source: Modbus over serial line V1.02, section 2.5.1.1: frames are 3.5 characters apart (of 11
/// bits), and 1.75 ms above 19200 baud.
Duration frame_gap_of(const BusSettings& settings) {
  const auto* serial = std::get_if<SerialPort>(&settings.port);
  if (serial == nullptr) {
    return Duration::zero();
  }
  if (serial->baud > 19200) {
    return std::chrono::microseconds{1750};
  }
  return Duration{static_cast<Duration::rep>(3.5 * 11 * 1e9 / serial->baud)};
}

bool is_readable(int descriptor, Duration wait) {
  pollfd ask{descriptor, POLLIN, 0};
  const auto ms = std::chrono::ceil<std::chrono::milliseconds>(wait).count();
  return ::poll(&ask, 1, static_cast<int>(std::max<decltype(ms)>(ms, 0))) > 0;
}

bool has_hung_up(int descriptor) {
  pollfd ask{descriptor, POLLIN, 0};
  return ::poll(&ask, 1, 0) > 0 && (ask.revents & (POLLHUP | POLLERR | POLLNVAL)) != 0;
}

}  // namespace

Line::Line(const BusSettings& settings)
    : settings_(settings),
      context_(new_context(settings), &modbus_free),
      patience_(settings.retry_first, settings.retry_max),
      frame_gap_(frame_gap_of(settings)) {
  const auto us = std::chrono::duration_cast<std::chrono::microseconds>(settings.reply_timeout);
  const auto seconds = static_cast<std::uint32_t>(us.count() / 1'000'000);
  const auto rest = static_cast<std::uint32_t>(us.count() % 1'000'000);
  // With no byte timeout the whole answer must arrive within the response timeout: otherwise a
  // device that trickles bytes could hold the bus for as long as it likes.
  if (context_ == nullptr || modbus_set_response_timeout(context_.get(), seconds, rest) != 0 ||
      modbus_set_byte_timeout(context_.get(), 0, 0) != 0 ||
      modbus_set_error_recovery(context_.get(), MODBUS_ERROR_RECOVERY_NONE) != 0) {
    throw std::runtime_error("bus " + settings.name + ": unusable port settings or timeout");
  }
}

Line::~Line() { close(); }

bool Line::is_serial() const { return std::holds_alternative<SerialPort>(settings_.port); }

Exchange Line::exchange(const Request& request, const Terms& terms) {
  begun_at_ = steady_clock::now().time_since_epoch().count();
  drop_dead_connection();
  if (!open_) {
    const bool may_try = patience_.may_try(steady_clock::now());
    if (!may_try && terms.insistence == Insistence::patient) {
      return tl::unexpected{OutletFault{Sent::no, BusFault::port_gone}};
    }
    if (!open()) {
      return tl::unexpected{OutletFault{Sent::no, BusFault::port_gone}};
    }
  }
  const bool may_hurry = terms.insistence == Insistence::insistent && writes(request);
  if (!may_hurry && !fall_silent()) {
    const auto cause = open_ ? BusFault::corrupt_reply : BusFault::port_gone;
    return tl::unexpected{OutletFault{Sent::no, cause}};
  }
  discard_pending();
  keep_frame_gap();
  if (terms.still_wanted && !terms.still_wanted()) {
    return tl::unexpected{OutletFault{Sent::no, BusFault::timed_out}};
  }
  const auto bytes = bytes_of(request);
  modbus_set_slave(context_.get(), request.unit);
  if (modbus_send_raw_request(context_.get(), bytes.data(), static_cast<int>(bytes.size())) < 0) {
    return tl::unexpected{OutletFault{Sent::maybe, fault_of(errno)}};
  }
  return receive(request);
}

Exchange Line::receive(const Request& request) {
  std::array<std::uint8_t, MODBUS_TCP_MAX_ADU_LENGTH> frame{};
  const int size = modbus_receive_confirmation(context_.get(), frame.data());
  const int error = errno;
  last_byte_ = steady_clock::now();
  if (size < 0) {
    return tl::unexpected{OutletFault{Sent::maybe, fault_of(error)}};
  }
  // Size 0: libmodbus saw the frame of another unit.
  const std::span<const std::uint8_t> seen{frame.data(), static_cast<std::size_t>(size)};
  auto answer = is_serial() ? check_rtu(request, seen) : check_tcp(request, seen);
  if (answer) {
    return std::move(*answer);
  }
  if (answer.error() == BusFault::corrupt_reply) {
    distrust();
  }
  return tl::unexpected{OutletFault{Sent::maybe, answer.error()}};
}

BusFault Line::fault_of(int error) {
  if (error == ETIMEDOUT) {
    distrust();
    return BusFault::timed_out;
  }
  if (error == EMBBADCRC || error == EMBBADDATA || error == EMBBADEXC) {
    distrust();
    return BusFault::corrupt_reply;
  }
  // EIO, EBADF, ENODEV, ENXIO, EPIPE, ECONNRESET and whatever else a port can die of.
  lose(std::system_category().message(error));
  return BusFault::port_gone;
}

void Line::distrust() {
  last_byte_ = steady_clock::now();
  if (is_serial()) {
    distrusted_ = true;
  } else {
    // Raw requests carry no transaction id, so only a new connection tells old answers from new
    // ones; it also ends a socket whose other end is long gone.
    close();
  }
}

void Line::drop_dead_connection() {
  if (!open_) {
    return;
  }
  const int descriptor = modbus_get_socket(context_.get());
  if (is_serial() ? has_hung_up(descriptor) : is_readable(descriptor, Duration::zero())) {
    // Over TCP nothing is due between requests but the news that the other end has closed.
    lose(is_serial() ? "hung up" : "closed by the other end");
    patience_.succeeded();  // it was open until now: reopen at once
  }
}

void Line::discard_pending() {
  if (!is_serial()) {
    return;
  }
  if (is_readable(modbus_get_socket(context_.get()), Duration::zero())) {
    modbus_flush(context_.get());
  }
}

bool Line::fall_silent() {
  const Instant give_up = Instant{steady_clock::now()} + 4 * settings_.reply_timeout;
  while (distrusted_) {
    const int descriptor = modbus_get_socket(context_.get());
    const Instant now = steady_clock::now();
    if (now > give_up) {
      return false;
    }
    // Bytes that came while nobody looked carry no time, so they count as of now.
    if (!is_readable(descriptor, last_byte_ + settings_.reply_timeout - now)) {
      distrusted_ = false;
    } else if (has_hung_up(descriptor)) {
      lose("hung up");
      return false;
    } else {
      modbus_flush(context_.get());
      last_byte_ = steady_clock::now();
    }
  }
  return true;
}

void Line::keep_frame_gap() const {
  if (frame_gap_ > Duration::zero()) {
    std::this_thread::sleep_until(last_byte_ + frame_gap_);
  }
}

bool Line::open() {
  if (!open_port()) {
    patience_.failed(steady_clock::now());
    return false;
  }
  patience_.succeeded();
  open_ = true;
  distrusted_ = is_serial();  // a device may still be answering whoever had the port before
  last_byte_ = steady_clock::now();
  ++openings_;
  if (!cause_.empty()) {
    bus_log()->info("bus={} port is back", settings_.name);
  }
  cause_.clear();
  return true;
}

bool Line::open_port() {
  if (const auto* serial = std::get_if<SerialPort>(&settings_.port)) {
    if (const std::string cause = lock_.take(serial->path); !cause.empty()) {
      lose(cause);
      return false;
    }
  }
  if (modbus_connect(context_.get()) != 0) {
    lose(std::system_category().message(errno));
    return false;
  }
  const int descriptor = modbus_get_socket(context_.get());
  if (is_serial()) {
    ::ioctl(descriptor, TIOCEXCL);  // for programs that do not look at the lock
  } else {
    const int on = 1;  // libmodbus sets it for IPv4 only
    ::setsockopt(descriptor, IPPROTO_TCP, TCP_NODELAY, &on, sizeof on);
  }
  return true;
}

void Line::close() {
  if (open_ && is_serial()) {
    ::ioctl(modbus_get_socket(context_.get()), TIOCNXCL);
  }
  // The old descriptor is closed before anything is opened again: a serial adapter that is
  // plugged in again gets another device number while the old one is held.
  modbus_close(context_.get());
  lock_.release();
  open_ = false;
}

void Line::lose(const std::string& cause) {
  close();
  if (cause != cause_) {
    bus_log()->warn("bus={} port is gone: {}", settings_.name, cause);
  }
  cause_ = cause;
}

}  // namespace limegate::modbus
