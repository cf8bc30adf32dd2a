#include "dosing/volumes_in_force.h"

#include <algorithm>
#include <chrono>

namespace limegate::dosing {
namespace {

constexpr Duration kDay = std::chrono::hours{24};

}  // namespace

bool VolumesInForce::set(Stamp now, Millilitres volume) {
  // One is over when the next begins; what was over for a day no longer counts.
  while (known_.size() > 1 && age(known_[1].since, now) >= kDay) {
    known_.erase(known_.begin());
  }
  if (!known_.empty() && known_.back().volume == volume) {
    return false;
  }
  known_.push_back({now, volume});
  return true;
}

Millilitres VolumesInForce::largest(Stamp now) const {
  Millilitres most{0.0};
  for (std::size_t i = 0; i < known_.size(); ++i) {
    const bool over = i + 1 < known_.size() && age(known_[i + 1].since, now) >= kDay;
    most = over ? most : std::max(most, known_[i].volume);
  }
  return most;
}

}  // namespace limegate::dosing
