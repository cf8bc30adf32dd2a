#pragma once

#include <string>

#include "rules/hold.h"
#include "station/settings.h"
#include "units/time.h"

namespace limegate::station {

/// A hold that stands, by its code, and since when; whether a person must release it may change
/// while it stands.
struct Standing {
  std::string code;
  Moment since;
  bool for_person = false;
  friend bool operator==(const Standing& a, const Standing& b) { return a.code == b.code; }
};

/// A hold as it is told to a person. An observed stirrer can't be kept from making milk of what
/// flows uncommanded: somebody must.
[[nodiscard]] std::string told(const rules::Hold& hold, StirrerKind stirrer);

}  // namespace limegate::station
