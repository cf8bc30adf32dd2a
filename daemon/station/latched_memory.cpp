#include "station/latched_memory.h"

#include <algorithm>

namespace limegate::station {

void add_latches(const std::vector<std::string>& codes, rules::Memory& memory) {
  for (const std::string& code : codes) {
    const auto known =
        std::find_if(rules::latches().begin(), rules::latches().end(),
                     [&](const rules::Latch& latch) { return rules::code_of(latch.hold) == code; });
    if (known != rules::latches().end()) {
      memory.*known->latched = true;
    } else if (!code.starts_with(rules::owner_code("")) &&
               std::find(memory.unknown_latches.begin(), memory.unknown_latches.end(), code) ==
                   memory.unknown_latches.end()) {
      memory.unknown_latches.push_back(code);
    }
  }
}

}  // namespace limegate::station
