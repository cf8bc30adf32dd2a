#pragma once

#include <string>

namespace limegate::modbus {

/// Keeps a serial port to one program: two masters on one line garble each other unnoticed.
/// An advisory lock on the device, taken before the port's settings are touched, held until
/// `release()`. The kernel drops it when the process dies.
class PortLock {
 public:
  PortLock() = default;
  ~PortLock();
  PortLock(const PortLock&) = delete;
  PortLock(PortLock&&) = delete;
  PortLock& operator=(const PortLock&) = delete;
  PortLock& operator=(PortLock&&) = delete;

  /// Gives an empty text, or the reason for which the port can't be had.
  [[nodiscard]] std::string take(const std::string& path);
  void release();

 private:
  int descriptor_ = -1;
};

}  // namespace limegate::modbus
