#include "station/latched_memory.h"

#include <algorithm>

namespace limegate::station {

void add_latches(const std::vector<std::string>& codes, rules::Memory& memory) {
  for (const std::string& code : codes) {
    const auto known = std::find_if(
        rules::remembered().begin(), rules::remembered().end(), [&](const rules::Remembered& one) {
          return one.clears == rules::Clears::by_person && one.code == code;
        });
    if (known != rules::remembered().end()) {
      memory.*known->flag = true;
    } else if (!code.starts_with(rules::owner_code("")) &&
               std::find(memory.unknown_latches.begin(), memory.unknown_latches.end(), code) ==
                   memory.unknown_latches.end()) {
      memory.unknown_latches.push_back(code);
    }
  }
}

}  // namespace limegate::station
