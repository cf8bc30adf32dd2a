#pragma once

#include <cstdio>
#include <cstdlib>

namespace limegate::fuzz {

/// Ends the program where one is broken: libFuzzer keeps the input and prints it.
inline void promise(bool kept, const char* what) {
  if (!kept) {
    std::fprintf(stderr, "BROKEN: %s\n", what);
    std::abort();
  }
}

}  // namespace limegate::fuzz
