#pragma once

namespace CLI {  // NOLINT(readability-identifier-naming): the library's own name
class App;
}

namespace limegate::calculator {

/// The bench calculator: registers `water`, `strength`, `effect`, `convert` and `electrode` as
/// subcommands of `app`. They need no daemon, no config and no state.
/// Results go to stdout, as a table or with `--json` as one object with stable keys; what is wrong
/// with the input goes to stderr, and `exit_code` is then set to 2 (0 otherwise). `exit_code` must
/// outlive the parsing of `app`; it is written only when one of these commands ran.
void add_commands(CLI::App& app, int& exit_code);

}  // namespace limegate::calculator
