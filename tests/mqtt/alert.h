#pragma once

#include <string>

#include "station/alert.h"

namespace limegate::test {

/// One that stands and that nobody has seen.
inline station::Alert alert(const std::string& id, const std::string& sentence, WallTime since) {
  station::Alert alert;
  alert.id = id;
  alert.sentence = sentence;
  alert.since = since;
  alert.state = "unacknowledged";
  alert.urgency = "act-today";
  return alert;
}

}  // namespace limegate::test
