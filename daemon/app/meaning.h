#pragma once

namespace limegate::app {

/// What a value that a bus reads is to its station.
enum class Meaning { ph, second_ph, temperature, stirrer, input };

}  // namespace limegate::app
