#pragma once

#include <string>
#include <vector>

#include <tl/expected.hpp>

#include "config/config.h"

namespace limegate::app {

/// Every outlet of a config, held by one process of this machine at a time, whatever state
/// directory it has. By names in the kernel (abstract sockets), given back when the process ends,
/// however it ends. `limegate off` needs none of them. Other machines, and other network
/// namespaces of this one, are not seen.
class OutletLock {
 public:
  /// Whether another process holds one of the config's outlets now. Takes nothing. Blocks as below.
  [[nodiscard]] static bool held_by_another(const config::Config& config);
  /// Blocks for as long as it takes to look up the hosts' addresses.
  /// Error: a sentence that names the outlet which another process holds.
  [[nodiscard]] static tl::expected<OutletLock, std::string> take(const config::Config& config);
  ~OutletLock();
  OutletLock(OutletLock&& other) noexcept;
  OutletLock& operator=(OutletLock&&) = delete;
  OutletLock(const OutletLock&) = delete;
  OutletLock& operator=(const OutletLock&) = delete;

 private:
  OutletLock() = default;
  std::vector<int> held_;
};

}  // namespace limegate::app
