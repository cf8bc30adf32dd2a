#pragma once

#include <chrono>
#include <cstdint>
#include <map>
#include <span>
#include <string>
#include <vector>

#include "support/slave_model.h"

namespace limegate::test {

/// One request as it came off the wire.
struct SlaveRequest {
  int descriptor = -1;  ///< where its answer goes
  std::uint16_t transaction = 0;
  int unit = 1;
  SlaveBytes pdu;
};

/// Modbus CRC-16 by the table-free method of Modbus over serial line V1.02, section 6.2.2.
[[nodiscard]] std::uint16_t slave_crc(std::span<const std::uint8_t> bytes);

/// How a scripted slave meets its client. Threads: the slave's own only.
class SlavePort {
 public:
  SlavePort() = default;
  virtual ~SlavePort() = default;
  SlavePort(const SlavePort&) = delete;
  SlavePort(SlavePort&&) = delete;
  SlavePort& operator=(const SlavePort&) = delete;
  SlavePort& operator=(SlavePort&&) = delete;

  virtual void open() = 0;   ///< throws std::system_error; again: the same port or path
  virtual void close() = 0;  ///< as if the cable, adapter or gateway were gone
  [[nodiscard]] virtual std::vector<int> descriptors() const = 0;
  /// Reads what is there and gives the requests that are complete by it.
  [[nodiscard]] virtual std::vector<SlaveRequest> receive(int descriptor) = 0;
  /// The reply frame; `lie_in_check` spoils the CRC, or the MBAP length.
  enum class Check { right, wrong };
  [[nodiscard]] virtual SlaveBytes frame(const SlaveRequest& request, int unit,
                                         const SlaveBytes& pdu, Check check) const = 0;
  virtual void send(int descriptor, std::span<const std::uint8_t> bytes) = 0;
};

/// Modbus TCP on 127.0.0.1, on a port the kernel chooses once.
class SlaveTcpPort final : public SlavePort {
 public:
  SlaveTcpPort() = default;
  ~SlaveTcpPort() override;
  SlaveTcpPort(const SlaveTcpPort&) = delete;
  SlaveTcpPort(SlaveTcpPort&&) = delete;
  SlaveTcpPort& operator=(const SlaveTcpPort&) = delete;
  SlaveTcpPort& operator=(SlaveTcpPort&&) = delete;
  void open() override;
  void close() override;
  [[nodiscard]] std::vector<int> descriptors() const override;
  [[nodiscard]] std::vector<SlaveRequest> receive(int descriptor) override;
  [[nodiscard]] SlaveBytes frame(const SlaveRequest& request, int unit, const SlaveBytes& pdu,
                                 Check check) const override;
  void send(int descriptor, std::span<const std::uint8_t> bytes) override;
  [[nodiscard]] int number() const { return number_; }

 private:
  [[nodiscard]] int bind_number();
  void close_all();

  int listener_ = -1;
  int reserved_ = -1;  ///< while closed: keeps the number, so that no other slave gets it
  int number_ = 0;
  std::map<int, SlaveBytes> clients_;  ///< with the bytes of an incomplete request
};

/// Modbus RTU on a pseudo-terminal, behind a symbolic link that stays the same.
class SlavePtyPort final : public SlavePort {
 public:
  SlavePtyPort();
  ~SlavePtyPort() override;
  SlavePtyPort(const SlavePtyPort&) = delete;
  SlavePtyPort(SlavePtyPort&&) = delete;
  SlavePtyPort& operator=(const SlavePtyPort&) = delete;
  SlavePtyPort& operator=(SlavePtyPort&&) = delete;
  void open() override;
  void close() override;
  [[nodiscard]] std::vector<int> descriptors() const override;
  [[nodiscard]] std::vector<SlaveRequest> receive(int descriptor) override;
  [[nodiscard]] SlaveBytes frame(const SlaveRequest& request, int unit, const SlaveBytes& pdu,
                                 Check check) const override;
  void send(int descriptor, std::span<const std::uint8_t> bytes) override;
  [[nodiscard]] const std::string& path() const { return link_; }

 private:
  std::string folder_;
  std::string link_;
  int master_ = -1;
  int own_end_ = -1;  ///< the client's end, held open so that the master never sees a hang-up
  SlaveBytes pending_;
  std::chrono::steady_clock::time_point last_byte_;
};

}  // namespace limegate::test
