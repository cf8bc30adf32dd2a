#include "gpio/chip.h"

#if LIMEGATE_LIBGPIOD == 1
#include <gpiod.h>

namespace limegate::gpio {
namespace {

class Libgpiod1 final : public Chip {
 public:
  explicit Libgpiod1(gpiod_chip* chip) : chip_(chip) {}
  ~Libgpiod1() override { gpiod_chip_close(chip_); }
  Libgpiod1(const Libgpiod1&) = delete;
  Libgpiod1(Libgpiod1&&) = delete;
  Libgpiod1& operator=(const Libgpiod1&) = delete;
  Libgpiod1& operator=(Libgpiod1&&) = delete;

  [[nodiscard]] tl::expected<bool, ports::BusFault> high(unsigned offset) override {
    gpiod_line* const line = gpiod_chip_get_line(chip_, offset);
    if (line == nullptr ||
        (!gpiod_line_is_requested(line) && gpiod_line_request_input(line, kConsumer) != 0)) {
      return tl::unexpected(ports::BusFault::refused_by_device);
    }
    const int value = gpiod_line_get_value(line);
    if (value < 0) {
      return tl::unexpected(ports::BusFault::port_gone);
    }
    return value != 0;
  }

 private:
  gpiod_chip* chip_;
};

}  // namespace

bool built_in() { return true; }

std::unique_ptr<Chip> open_chip(const std::string& path) {
  gpiod_chip* const chip = gpiod_chip_open(path.c_str());
  return chip == nullptr ? nullptr : std::make_unique<Libgpiod1>(chip);
}

}  // namespace limegate::gpio
#endif
