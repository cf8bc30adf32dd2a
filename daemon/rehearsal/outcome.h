#pragma once

#include <cstddef>
#include <map>
#include <string>
#include <vector>

#include "rehearsal/exposure.h"
#include "rehearsal/trace.h"
#include "station/effects.h"
#include "units/quantities.h"
#include "units/time.h"

namespace limegate::rehearsal {

/// What came of a rehearsal.
struct Outcome {
  Duration lasted{};
  Millilitres planned, counted, delivered;  ///< counted: by command; delivered: what truly flowed
  double ph_low = 14, ph_high = 0;          ///< true, in the water at the probe
  double rise_30min = 0;                    ///< the worst true one
  double powder_g_start = 0, powder_g_end = 0;
  double powder_carried_g = 0;  ///< undissolved
  Dkh alkalinity_start, alkalinity_end;
  MgPerLitre cloud_highest;              ///< of solids afloat, once a minute
  std::map<std::string, Duration> held;  ///< by code of the hold
  struct Told {
    Duration at;
    station::Event event;
  };
  std::vector<Told> alerts;
  std::vector<Told> for_people;  ///< those, and what ended them
  std::vector<Fault> faults;     ///< that were asked for
  std::size_t pulses = 0, stirs = 0, restarts = 0;
  Duration longest_silence{};  ///< without a commanded pulse
  Exposures exposures;
  Trace trace;
  std::vector<std::string> violations;
};

}  // namespace limegate::rehearsal
