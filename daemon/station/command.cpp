#include "station/command.h"

#include "units/visitor.h"

namespace limegate::station {
const char* name_of(const Command& command) {
  return std::visit(
      Visitor{[](const Pause&) { return "pause"; }, [](const Resume&) { return "resume"; },
              [](const Release&) { return "release"; },
              [](const SetDayVolume&) { return "set-day-volume"; },
              [](const StirNow&) { return "stir"; },
              [](const RunAttended&) { return "run-attended"; },
              [](const Relearn&) { return "relearn"; },
              [](const SwitchAllOff&) { return "switch-all-off"; },
              [](const ConfirmRate&) { return "confirm-rate"; },
              [](const WriteEntry&) { return "record"; }, [](const UndoEntry&) { return "undo"; },
              [](const Service&) { return "work"; }, [](const Away&) { return "away"; },
              [](const Back&) { return "back"; }},
      command);
}

bool permits(Origin origin, const Command& command) {
  if (origin == Origin::station) {
    return true;
  }
  // One line a kind, so that a new one has to be decided here.
  return std::visit(
      Visitor{[](const Pause&) { return true; }, [](const Resume&) { return true; },
              [](const SetDayVolume&) { return true; }, [](const Release&) { return false; },
              [](const StirNow&) { return false; }, [](const RunAttended&) { return false; },
              [](const Relearn&) { return false; },
              // What only a person at the station can release must not be set from far away.
              [](const SwitchAllOff&) { return false; }, [](const ConfirmRate&) { return false; },
              // A test may let more be given.
              [](const WriteEntry&) { return false; }, [](const UndoEntry&) { return false; },
              [](const Service&) { return false; }, [](const Away&) { return false; },
              [](const Back&) { return false; }},
      command);
}

}  // namespace limegate::station
