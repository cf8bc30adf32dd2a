// The calculator alone, for its tests: the commands as the program `limegate` has them.

#include <cstdio>
#include <exception>

#include <CLI/CLI.hpp>

#include "calculator/commands.h"

int main(int argc, char** argv) try {
  CLI::App app{"limewater calculator"};
  app.name("limegate");
  app.require_subcommand(1);
  int exit_code = 0;
  limegate::calculator::add_commands(app, exit_code);
  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& error) {
    return app.exit(error) == 0 ? 0 : 2;
  }
  return exit_code;
} catch (const std::exception& error) {
  std::fputs(error.what(), stderr);
  return 1;
}
