#pragma once

namespace limegate::app {

/// What the program says to the shell. Documented in `limegate --help`; never renumbered.
enum ExitCode : int {
  kFine = 0,
  kNotConfirmed = 1,  ///< an outlet is not confirmed to be off, or the work could not be done
  kBadInput = 2,      ///< wrong usage or a config that is refused
  kInUse = 3,         ///< another daemon has this state directory, or switches one of these outlets
  kRefused = 4,       ///< the running daemon refused a command, and said why
};

}  // namespace limegate::app
