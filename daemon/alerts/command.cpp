#include "alerts/command.h"

#include "units/visitor.h"

namespace limegate::alerts {

const char* name_of(const Command& command) {
  return std::visit(Visitor{[](const Acknowledge&) { return "acknowledge"; },
                            [](const Shelve&) { return "shelve"; }},
                    command);
}

const char* name_of(const Asked& asked) {
  return std::visit(
      Visitor{[](const station::Command& command) { return station::name_of(command); },
              [](const Command& command) { return name_of(command); }},
      asked);
}

}  // namespace limegate::alerts
