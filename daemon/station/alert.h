#pragma once

#include <optional>
#include <string>

#include "units/time.h"

namespace limegate::station {

/// Something that needs a person, as surfaces show it. What it means and what becomes of it: the
/// layer `alerts`.
struct Alert {
  std::string id;      ///< of its kind: stable, lower case with hyphens
  std::string number;  ///< of this occurrence
  std::string sentence;
  WallTime since;
  std::string state;    ///< of IEC 62682, in lower case with hyphens
  std::string urgency;  ///< "act-now", "act-today", "when-you-can"
  bool latched = false;
  std::string consequence, action;  ///< what it comes to, and what to do
  enum class Seen { no, yes } seen = Seen::no;
  std::string shelved_by = {}, shelved_because = {};
  std::optional<WallTime> shelved_until = {};
  friend bool operator==(const Alert&, const Alert&) = default;
};

}  // namespace limegate::station
