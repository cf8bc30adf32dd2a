#pragma once

#include <string>

#include "rules/hold.h"
#include "station/settings.h"
#include "units/time.h"

namespace limegate::station {

/// A hold that stands, by its code, and since when.
struct Standing {
  std::string code;
  Moment since;
  friend bool operator==(const Standing& a, const Standing& b) { return a.code == b.code; }
};

/// A hold as it is told to a person. An observed stirrer can't be kept from making milk of what
/// flows uncommanded: somebody must.
[[nodiscard]] std::string told(const rules::Hold& hold, StirrerKind stirrer);

}  // namespace limegate::station
