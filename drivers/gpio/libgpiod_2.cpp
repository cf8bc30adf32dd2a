#include "gpio/chip.h"

#if LIMEGATE_LIBGPIOD == 2
#include <map>
#include <utility>

#include <gpiod.h>

namespace limegate::gpio {
namespace {

struct Free {
  void operator()(gpiod_chip* chip) const { gpiod_chip_close(chip); }
  void operator()(gpiod_line_request* request) const { gpiod_line_request_release(request); }
  void operator()(gpiod_line_settings* settings) const { gpiod_line_settings_free(settings); }
  void operator()(gpiod_line_config* lines) const { gpiod_line_config_free(lines); }
  void operator()(gpiod_request_config* config) const { gpiod_request_config_free(config); }
};
template <class Handle>
using Owned = std::unique_ptr<Handle, Free>;

class Libgpiod2 final : public Chip {
 public:
  explicit Libgpiod2(Owned<gpiod_chip> chip) : chip_(std::move(chip)) {}

  [[nodiscard]] tl::expected<bool, ports::BusFault> high(unsigned line) override {
    Owned<gpiod_line_request>& request = requests_[line];
    if (!request) {
      request = requested(line);
    }
    if (!request) {
      return tl::unexpected(ports::BusFault::refused_by_device);
    }
    const gpiod_line_value value = gpiod_line_request_get_value(request.get(), line);
    if (value == GPIOD_LINE_VALUE_ERROR) {
      return tl::unexpected(ports::BusFault::port_gone);
    }
    return value == GPIOD_LINE_VALUE_ACTIVE;
  }

 private:
  /// A request for each line alone: one that is refused takes no other with it.
  [[nodiscard]] Owned<gpiod_line_request> requested(unsigned line) {
    const Owned<gpiod_line_settings> settings{gpiod_line_settings_new()};
    const Owned<gpiod_line_config> lines{gpiod_line_config_new()};
    const Owned<gpiod_request_config> config{gpiod_request_config_new()};
    if (!settings || !lines || !config ||
        gpiod_line_settings_set_direction(settings.get(), GPIOD_LINE_DIRECTION_INPUT) != 0 ||
        gpiod_line_config_add_line_settings(lines.get(), &line, 1, settings.get()) != 0) {
      return nullptr;
    }
    gpiod_request_config_set_consumer(config.get(), kConsumer);
    return Owned<gpiod_line_request>{
        gpiod_chip_request_lines(chip_.get(), config.get(), lines.get())};
  }

  Owned<gpiod_chip> chip_;
  std::map<unsigned, Owned<gpiod_line_request>> requests_;
};

}  // namespace

bool built_in() { return true; }

std::unique_ptr<Chip> open_chip(const std::string& path) {
  Owned<gpiod_chip> chip{gpiod_chip_open(path.c_str())};
  return chip ? std::make_unique<Libgpiod2>(std::move(chip)) : nullptr;
}

}  // namespace limegate::gpio
#endif
