#include "drivers/gpio/stand_in.h"

#include <map>
#include <string>

#include <dlfcn.h>
#include <gpiod.h>

// The functions below take the place of libgpiod's own, for the chip "stand-in" alone; any other
// chip is libgpiod's.

namespace limegate::test {
namespace {

struct Pins {
  bool plugged = true;
  std::map<unsigned, bool> high;    ///< the lines that there are
  std::map<unsigned, bool> others;  ///< used by somebody else
  std::map<unsigned, bool> requested;
  int opened = 0;
};

Pins& pins() {
  static Pins all;
  return all;
}

/// What stands for a handle of libgpiod: an address of ours, by line.
std::map<unsigned, char>& handles() {
  static std::map<unsigned, char> all;
  return all;
}
char chip_handle;  // NOLINT(cppcoreguidelines-avoid-non-const-global-variables): only its address

gpiod_chip* our_chip() { return reinterpret_cast<gpiod_chip*>(&chip_handle); }

const unsigned* our_line(const gpiod_line* line) {
  for (const auto& [offset, handle] : handles()) {
    if (reinterpret_cast<const gpiod_line*>(&handle) == line) {
      return &offset;
    }
  }
  return nullptr;
}

template <class Function>
Function real(const char* name) {
  return reinterpret_cast<Function>(dlsym(RTLD_NEXT, name));
}

}  // namespace

StandInChip::StandInChip() { pins() = {}; }
void StandInChip::set(unsigned line, bool high) { pins().high[line] = high; }
void StandInChip::used_by_others(unsigned line, bool used) { pins().others[line] = used; }
void StandInChip::plug(bool in) { pins().plugged = in; }
int StandInChip::opened() const { return pins().opened; }

}  // namespace limegate::test

using limegate::test::our_chip;
using limegate::test::our_line;
using limegate::test::pins;
using limegate::test::real;

extern "C" {

gpiod_chip* gpiod_chip_open(const char* path) {
  if (std::string{path} != limegate::test::StandInChip::kPath) {
    return real<decltype(&gpiod_chip_open)>("gpiod_chip_open")(path);
  }
  pins().opened += pins().plugged ? 1 : 0;
  return pins().plugged ? our_chip() : nullptr;
}

void gpiod_chip_close(gpiod_chip* chip) {
  if (chip != our_chip()) {
    real<decltype(&gpiod_chip_close)>("gpiod_chip_close")(chip);
  }
  pins().requested.clear();
}

gpiod_line* gpiod_chip_get_line(gpiod_chip* chip, unsigned int offset) {
  if (chip != our_chip()) {
    return real<decltype(&gpiod_chip_get_line)>("gpiod_chip_get_line")(chip, offset);
  }
  if (pins().high.count(offset) == 0) {
    return nullptr;
  }
  return reinterpret_cast<gpiod_line*>(&limegate::test::handles()[offset]);
}

bool gpiod_line_is_requested(gpiod_line* line) {
  const unsigned* ours = our_line(line);
  return ours == nullptr ? real<decltype(&gpiod_line_is_requested)>("gpiod_line_is_requested")(line)
                         : pins().requested[*ours];
}

int gpiod_line_request_input(gpiod_line* line, const char* consumer) {
  const unsigned* ours = our_line(line);
  if (ours == nullptr) {
    return real<decltype(&gpiod_line_request_input)>("gpiod_line_request_input")(line, consumer);
  }
  // As the kernel does: a line has one user, and asking twice is busy too.
  if (pins().others[*ours] || pins().requested[*ours]) {
    return -1;
  }
  pins().requested[*ours] = true;
  return 0;
}

int gpiod_line_get_value(gpiod_line* line) {
  const unsigned* ours = our_line(line);
  if (ours == nullptr) {
    return real<decltype(&gpiod_line_get_value)>("gpiod_line_get_value")(line);
  }
  if (!pins().plugged || !pins().requested[*ours]) {
    return -1;
  }
  return pins().high[*ours] ? 1 : 0;
}

}  // extern "C"
