#include "gpio/chip.h"

#if LIMEGATE_LIBGPIOD == 0
namespace limegate::gpio {

bool built_in() { return false; }

std::unique_ptr<Chip> open_chip(const std::string& /*path*/) { return nullptr; }

}  // namespace limegate::gpio
#endif
