#include "station/unrecorded.h"

#include <algorithm>
#include <chrono>

namespace limegate::station {

bool Unrecorded::has(std::int64_t id) const {
  return std::any_of(rows_.begin(), rows_.end(),
                     [&](const Row& row) { return row.pulse.id == id; });
}

void Unrecorded::not_sent(const PulseRecord& pulse) {
  if (!has(pulse.id)) {
    rows_.push_back({pulse, Fate::not_given});
  }
}

void Unrecorded::counted(const dosing::Dose& dose) {
  // What stands for a lost record has no number of a pulse.
  if (dose.id > 0 && !has(dose.id)) {
    // Any duration but zero, which would say that nobody commanded it.
    rows_.push_back(
        {{dose.id, dose.volume, std::chrono::milliseconds{1}, dose.end, dose.end}, Fate::given});
  }
}

void Unrecorded::state(Effects& effects) const {
  for (const Row& row : rows_) {
    effects.emplace_back(AppendPulse{row.pulse});
  }
}

void Unrecorded::durable(std::int64_t id, Effects& effects) {
  for (const Row& row : rows_) {
    if (row.pulse.id == id) {
      const bool given = row.fate == Fate::given;
      effects.emplace_back(ClosePulse{id, row.fate, given ? row.pulse.volume : Millilitres{0.0}});
    }
  }
  std::erase_if(rows_, [&](const Row& row) { return row.pulse.id == id; });
}

}  // namespace limegate::station
