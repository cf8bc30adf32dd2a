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

template <class Handle>
Handle* handle_of(unsigned line) {
  return reinterpret_cast<Handle*>(&handles()[line]);
}

/// Null where `handle` is none of ours.
const unsigned* our_line(const void* given) {
  for (const auto& [offset, handle] : handles()) {
    if (&handle == given) {
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

using limegate::test::handle_of;
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
  } else if (LIMEGATE_LIBGPIOD == 1) {
    pins().requested.clear();  // later a request outlives its chip
  }
}

#if LIMEGATE_LIBGPIOD == 1

gpiod_line* gpiod_chip_get_line(gpiod_chip* chip, unsigned int offset) {
  if (chip != our_chip()) {
    return real<decltype(&gpiod_chip_get_line)>("gpiod_chip_get_line")(chip, offset);
  }
  if (pins().high.count(offset) == 0) {
    return nullptr;
  }
  return handle_of<gpiod_line>(offset);
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

#else

gpiod_line_request* gpiod_chip_request_lines(gpiod_chip* chip, gpiod_request_config* config,
                                             gpiod_line_config* lines) {
  if (chip != our_chip()) {
    return real<decltype(&gpiod_chip_request_lines)>("gpiod_chip_request_lines")(chip, config,
                                                                                 lines);
  }
  unsigned offset = 0;
  if (gpiod_line_config_get_configured_offsets(lines, &offset, 1) != 1 ||
      pins().high.count(offset) == 0 || pins().others[offset] || pins().requested[offset]) {
    return nullptr;  // as the kernel does: a line has one user, and asking twice is busy too
  }
  pins().requested[offset] = true;
  return handle_of<gpiod_line_request>(offset);
}

void gpiod_line_request_release(gpiod_line_request* request) {
  if (const unsigned* ours = our_line(request)) {
    pins().requested[*ours] = false;
  } else {
    real<decltype(&gpiod_line_request_release)>("gpiod_line_request_release")(request);
  }
}

gpiod_line_value gpiod_line_request_get_value(gpiod_line_request* request, unsigned int offset) {
  const unsigned* ours = our_line(request);
  if (ours == nullptr) {
    return real<decltype(&gpiod_line_request_get_value)>("gpiod_line_request_get_value")(request,
                                                                                         offset);
  }
  if (!pins().plugged || !pins().requested[*ours] || offset != *ours) {
    return GPIOD_LINE_VALUE_ERROR;
  }
  return pins().high[*ours] ? GPIOD_LINE_VALUE_ACTIVE : GPIOD_LINE_VALUE_INACTIVE;
}

#endif

}  // extern "C"
