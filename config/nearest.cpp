#include "config/nearest.h"

#include <algorithm>
#include <numeric>
#include <utility>

namespace limegate::config {

std::size_t edit_distance(std::string_view a, std::string_view b) {
  std::vector<std::size_t> row(b.size() + 1), before(b.size() + 1);
  std::iota(row.begin(), row.end(), std::size_t{0});
  for (std::size_t i = 1; i <= a.size(); ++i) {
    std::vector<std::size_t> next(b.size() + 1);
    next[0] = i;
    for (std::size_t j = 1; j <= b.size(); ++j) {
      next[j] =
          std::min({row[j] + 1, next[j - 1] + 1, row[j - 1] + (a[i - 1] == b[j - 1] ? 0 : 1)});
      // The commonest slip: two letters have changed places.
      if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1]) {
        next[j] = std::min(next[j], before[j - 2] + 1);
      }
    }
    before = std::exchange(row, std::move(next));
  }
  return row[b.size()];
}

std::string nearest(std::string_view word, const std::vector<std::string>& words) {
  std::string best;
  std::size_t best_distance = std::max<std::size_t>(1, word.size() / 3) + 1;
  for (const std::string& candidate : words) {
    const std::size_t distance = edit_distance(word, candidate);
    if (distance < best_distance) {
      best_distance = distance;
      best = candidate;
    }
  }
  if (best_distance == 1) {
    return best;  // a slip of one letter
  }
  std::string part_of;
  const std::string part = "_" + std::string{word} + "_";
  for (const std::string& candidate : words) {
    if (("_" + candidate + "_").find(part) != std::string::npos &&
        (part_of.empty() || candidate.size() < part_of.size())) {
      part_of = candidate;
    }
  }
  return part_of.empty() ? best : part_of;
}

}  // namespace limegate::config
