#pragma once

namespace limegate::app {

/// The program: reads the command line, does what it says, returns an ExitCode.
[[nodiscard]] int command_line(int argc, char** argv);

}  // namespace limegate::app
