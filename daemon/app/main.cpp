#include <cstdio>
#include <exception>

#include "app/command_line.h"
#include "app/exit_code.h"

int main(int argc, char** argv) try {
  return limegate::app::command_line(argc, argv);
} catch (const std::exception& error) {
  std::fprintf(stderr, "limegate: %s\n", error.what());
  return limegate::app::kNotConfirmed;
}
