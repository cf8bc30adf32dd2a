#include "station/effects.h"

namespace limegate::station {

Effect::Effect(const Effect&) = default;
Effect::Effect(Effect&&) noexcept = default;
Effect& Effect::operator=(const Effect&) = default;
Effect& Effect::operator=(Effect&&) noexcept = default;
Effect::~Effect() = default;

}  // namespace limegate::station
