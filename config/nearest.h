#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

namespace limegate::config {

/// How many letters must be put in, taken out or changed, or two neighbours swapped, to make one of
/// the other (optimal string alignment, after Damerau and Levenshtein).
[[nodiscard]] std::size_t edit_distance(std::string_view a, std::string_view b);

/// The word of `words` that is nearest to `word`: one of a letter's difference, else the shortest
/// one of which it is a part, as port of tcp_port, else by edit distance; empty if none is near.
[[nodiscard]] std::string nearest(std::string_view word, const std::vector<std::string>& words);

}  // namespace limegate::config
