#pragma once

#include <string>
#include <vector>

#include "config/config.h"
#include "rehearsal/rehearsal.h"

namespace limegate::app {

/// Whether more powder left the reactor undissolved than clear limewater has: a twentieth of what
/// is dissolved, for some finest grains always stay afloat (a reasoned share).
[[nodiscard]] bool gave_milk(const rehearsal::Outcome& outcome);

/// What the keeper should change after a rehearsal, a sentence each; "Nothing." if nothing. What a
/// fault did is put down to that fault, and nothing is advised that another one speaks against.
[[nodiscard]] std::vector<std::string> advice_on(const rehearsal::Outcome& outcome,
                                                 const config::Station& station);

}  // namespace limegate::app
