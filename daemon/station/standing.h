#pragma once

#include <string>

#include "units/time.h"

namespace limegate::station {

/// A hold that stands, by its code.
struct Standing {
  std::string code;
  Moment since;
  enum class Told { no, yes } told = Told::no;  ///< that it needs a person
  friend bool operator==(const Standing& a, const Standing& b) { return a.code == b.code; }
};

}  // namespace limegate::station
