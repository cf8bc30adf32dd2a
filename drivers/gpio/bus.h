#pragma once

#include <cstddef>
#include <functional>
#include <memory>
#include <string>
#include <vector>

#include <tl/expected.hpp>

#include "gpio/chip.h"
#include "gpio/settings.h"
#include "ports/bus.h"
#include "ports/clock.h"

namespace limegate::gpio {

/// The digital inputs of one GPIO chip, read through the kernel's character device. Each shows 1
/// while it is active, else 0.
/// Errors: port_gone where the chip can't be opened or has gone; refused_by_device where it has no
/// such line or somebody else uses it. Both are tried again with the next poll.
/// Threads: the loop thread, which waits for the kernel's answer. That is at once for lines of the
/// machine itself; a chip behind I2C or USB that hangs would hold the loop up.
class Bus final : public ports::Bus {
 public:
  using Post = std::function<void(std::function<void()>)>;

  /// `chip` is a path, "/dev/gpiochip0". Nothing is opened yet. Two of the lines may be the same.
  Bus(std::string chip, std::vector<LineSettings> lines, const ports::Clock& clock, Post post);
  ~Bus() override;
  Bus(const Bus&) = delete;
  Bus(Bus&&) = delete;
  Bus& operator=(const Bus&) = delete;
  Bus& operator=(Bus&&) = delete;

  void poll(std::vector<std::size_t> probes, PollReply reply) override;

 private:
  [[nodiscard]] tl::expected<double, ports::BusFault> read(const LineSettings& settings);

  const std::string path_;
  const std::vector<LineSettings> lines_;
  const ports::Clock& clock_;
  Post post_;
  std::unique_ptr<Chip> chip_;  ///< null while it can't be opened
};

}  // namespace limegate::gpio
