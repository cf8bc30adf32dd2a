#pragma once

#include <string>
#include <string_view>

namespace limegate::station {

/// The release of a latched hold is noted while no daemon runs: a code of its own, kept beside the
/// latch as latches are. A program that does not know what it means holds.
constexpr std::string_view kReleaseNote = "noted-release-";

[[nodiscard]] inline std::string release_note_of(std::string_view hold) {
  return std::string{kReleaseNote}.append(hold);
}
[[nodiscard]] inline bool is_release_note(std::string_view code) {
  return code.starts_with(kReleaseNote);
}

}  // namespace limegate::station
