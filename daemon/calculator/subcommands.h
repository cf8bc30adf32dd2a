#pragma once

namespace CLI {  // NOLINT(readability-identifier-naming): the library's own name
class App;
}

namespace limegate::calculator {

// One each; as add_commands(), for one subcommand.
void add_water(CLI::App& app, int& exit_code);
void add_strength(CLI::App& app, int& exit_code);
void add_effect(CLI::App& app, int& exit_code);
void add_demand(CLI::App& app, int& exit_code);
void add_convert(CLI::App& app, int& exit_code);
void add_electrode(CLI::App& app, int& exit_code);

}  // namespace limegate::calculator
