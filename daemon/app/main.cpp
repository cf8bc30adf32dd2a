#include <cstdio>
#include <exception>
#include <string>

#include "app/command_line.h"
#include "app/exit_code.h"
#include "app/log.h"

int main(int argc, char** argv) try {
  return limegate::app::command_line(argc, argv);
} catch (const std::exception& error) {
  const std::string line = std::string{"limegate: "} + error.what() + "\n";
  std::fputs(limegate::app::as_errors(line).c_str(), stderr);
  return limegate::app::kNotConfirmed;
}
