#pragma once

#include <memory>
#include <string>

#include <tl/expected.hpp>

#include "ports/bus.h"

namespace limegate::gpio {

/// Whether this program was built with a libgpiod. Without one no chip can be opened.
[[nodiscard]] bool built_in();

/// One GPIO chip, by the libgpiod that this program was built with: 1, 2 or none, each in a source
/// of its own. Its end gives its lines back.
/// Threads: one owner.
class Chip {
 public:
  Chip() = default;
  virtual ~Chip() = default;
  Chip(const Chip&) = delete;
  Chip(Chip&&) = delete;
  Chip& operator=(const Chip&) = delete;
  Chip& operator=(Chip&&) = delete;

  /// Whether the line with this offset is high, as an input that is asked for once.
  /// Errors: refused_by_device where there is no such line or somebody else uses it; port_gone
  /// where the chip went: it must be opened anew.
  [[nodiscard]] virtual tl::expected<bool, ports::BusFault> high(unsigned line) = 0;
};

/// `path` is a chip of the kernel's, "/dev/gpiochip0". Null if it can't be opened.
[[nodiscard]] std::unique_ptr<Chip> open_chip(const std::string& path);

/// Shown to whoever asks the kernel who uses a line.
constexpr const char* kConsumer = "limegate";

}  // namespace limegate::gpio
