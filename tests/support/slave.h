#pragma once

#include <chrono>
#include <condition_variable>
#include <cstdint>
#include <deque>
#include <functional>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <thread>
#include <vector>

#include "ports/clock.h"
#include "support/slave_model.h"
#include "support/slave_port.h"

namespace limegate::test {

/// How a slave misbehaves at one request. All but `silent` and `exception` execute it.
enum class Misbehaviour {
  silent,            ///< the request is lost
  drop_reply,        ///< executed, and the answer lost
  late,              ///< answers after `delay`
  exception,         ///< refuses with `code`
  wrong_unit,        ///< answers as unit + 1
  wrong_length,      ///< a read: one register (or 8 bits) too many; a write: another value echoed
  wrong_byte_count,  ///< a read: the count field is one too small
  wrong_function,    ///< 3 for 4, 1 for 2, 5 for 6 and back
  bad_check,         ///< wrong CRC (RTU), wrong MBAP length (TCP)
  half_frame,        ///< the first half of the answer
  trickle,           ///< one byte each `delay`
  stray_byte,        ///< a zero before the answer
};

struct SlaveFault {
  Misbehaviour how = Misbehaviour::silent;
  int requests = 1;           ///< how many it spoils
  std::optional<int> unit{};  ///< only requests to this unit
  std::chrono::milliseconds delay{0};
  std::uint8_t code = 2;
};

/// A Modbus slave that does what a test tells it, in its own thread and with its own frames.
/// Threads: every call from any thread; the callback of `on_request` runs in the slave's thread and
/// may call everything but close_port and reopen_port.
class Slave {
 public:
  enum class Transport { tcp, pty };
  Slave(Transport transport, const ports::Clock& clock);
  ~Slave();
  Slave(const Slave&) = delete;
  Slave(Slave&&) = delete;
  Slave& operator=(const Slave&) = delete;
  Slave& operator=(Slave&&) = delete;

  [[nodiscard]] int port() const;                 ///< TCP, on 127.0.0.1
  [[nodiscard]] const std::string& path() const;  ///< pty: a link that survives reopen_port

  void set_holding(int unit, std::uint16_t address, std::uint16_t value);
  void set_input_register(int unit, std::uint16_t address, std::uint16_t value);
  void set_coil(int unit, std::uint16_t address, bool on);
  void set_input(int unit, std::uint16_t address, bool on);
  /// As another master would write the coil of an outlet.
  void switch_from_elsewhere(int unit, std::uint16_t address, bool on);
  [[nodiscard]] std::uint16_t holding(int unit, std::uint16_t address);

  void add_outlet(const RelayOutlet& outlet);
  void add_communication_loss(int unit, std::uint16_t address, Duration step);
  void set_defect(int unit, std::uint16_t address, Defect defect);
  void reset_unit(int unit);  ///< outlets off, communication-loss register 0
  void advance();             ///< brings the timers up to the clock, as each request does
  [[nodiscard]] bool is_on(int unit, std::uint16_t address);
  [[nodiscard]] Duration on_time(int unit, std::uint16_t address);
  [[nodiscard]] std::vector<OutletChange> log();

  /// Faults are used up in the order scripted; the first that fits a request spoils it.
  void script(const SlaveFault& fault);
  void clear_faults();
  [[nodiscard]] int requests(std::optional<int> unit = {});  ///< received since the start

  struct Event {
    enum class Phase { before, after } phase;  ///< of executing it; `after` precedes the answer
    int unit;
    std::uint8_t function;
    std::uint16_t address;
  };
  void on_request(std::function<void(const Event&)> callback);

  void close_port();
  void reopen_port();

 private:
  void work();
  void handle(const SlaveRequest& request);
  void answer(const SlaveRequest& request, SlaveBytes pdu, const std::optional<SlaveFault>& fault);
  [[nodiscard]] std::optional<SlaveFault> take_fault(int unit);
  void tell(Event::Phase phase, const SlaveRequest& request);
  void in_thread(const std::function<void()>& task);
  void run_tasks();
  void wait(std::chrono::milliseconds delay);
  void wake() const;

  const ports::Clock& clock_;
  SlaveTcpPort* tcp_ = nullptr;
  SlavePtyPort* pty_ = nullptr;
  std::unique_ptr<SlavePort> port_;
  int wake_ = -1;

  std::mutex mutex_;  ///< guards all below
  std::condition_variable changed_;
  SlaveModel model_;
  std::deque<SlaveFault> faults_;
  std::vector<int> units_asked_;
  std::function<void(const Event&)> callback_;
  std::deque<std::function<void()>> tasks_;
  bool stopping_ = false;

  std::thread thread_;
};

}  // namespace limegate::test
