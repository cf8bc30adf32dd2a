#include "mqtt/refusals.h"

#include <chrono>
#include <utility>

namespace limegate::mqtt {
namespace {

constexpr Duration kAgainAfter = std::chrono::minutes{10};
constexpr std::size_t kKindsMax = 64;

}  // namespace

std::optional<std::uint64_t> Refusals::take(const std::string& kind, Instant now) {
  auto known = kinds_.find(kind);
  if (known == kinds_.end()) {
    if (kinds_.size() < kKindsMax) {
      kinds_[kind].told = now;
      return 0;
    }
    known = kinds_.begin();
  }
  if (now - known->second.told < kAgainAfter) {
    ++known->second.untold;
    return std::nullopt;
  }
  known->second.told = now;
  return std::exchange(known->second.untold, 0);
}

}  // namespace limegate::mqtt
