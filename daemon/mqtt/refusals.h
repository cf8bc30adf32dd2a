#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <string>

#include "units/time.h"

namespace limegate::mqtt {

/// Which of many like refusals is told: the first, and then one every ten minutes with how many
/// there were in between.
/// Threads: one owner.   Memory: a few kinds; what is beyond is told as one of them.
class Refusals {
 public:
  /// How many of this kind were not told since the last one; absent = do not tell this one either.
  [[nodiscard]] std::optional<std::uint64_t> take(const std::string& kind, Instant now);

 private:
  struct Kind {
    Instant told{};
    std::uint64_t untold = 0;
  };
  std::map<std::string, Kind> kinds_;
};

}  // namespace limegate::mqtt
