#include "calculator/commands.h"

#include "calculator/subcommands.h"

namespace limegate::calculator {

void add_commands(CLI::App& app, int& exit_code) {
  add_water(app, exit_code);
  add_strength(app, exit_code);
  add_effect(app, exit_code);
  add_demand(app, exit_code);
  add_convert(app, exit_code);
  add_electrode(app, exit_code);
}

}  // namespace limegate::calculator
