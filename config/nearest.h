#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace limegate::config {

/// The word of `words` that is nearest to `word` by edit distance; empty if none is near.
[[nodiscard]] std::string nearest(std::string_view word, const std::vector<std::string>& words);

}  // namespace limegate::config
