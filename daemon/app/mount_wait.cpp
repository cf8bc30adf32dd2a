#include "app/mount_wait.h"

#include <algorithm>
#include <chrono>
#include <thread>

#include <fmt/format.h>

#include "app/log.h"
#include "app/switch_off.h"

namespace limegate::app {
namespace {

using Clock = std::chrono::steady_clock;
constexpr std::chrono::seconds kLookEvery{1};
constexpr std::chrono::minutes kOffEvery{1};
constexpr std::chrono::seconds kOffWithin{5};

void keep_off(const config::Config& config) {
  const OffResults results = switch_all_off(config, std::nullopt, kOffWithin);
  const bool all =
      std::all_of(results.outlets.begin(), results.outlets.end(),
                  [](const OffResult& one) { return one.off != OffResult::Off::not_confirmed; });
  if (!all) {
    log_error("Not every outlet is confirmed to be off. Look at the pump now.");
  }
}

}  // namespace

void wait_for_mounts(const config::Config& config,
                     const std::function<std::string(const std::string& path)>& missing) {
  std::string told;
  Clock::time_point off_at{};
  for (const std::string& directory : {config.state_dir, config.witness_dir}) {
    for (std::string mount; !(mount = missing(directory)).empty();
         std::this_thread::sleep_for(kLookEvery)) {
      if (mount != told) {
        told = mount;
        log_warning(
            fmt::format("fstab names {}, where {} lies, and it is not mounted. It is waited for; "
                        "nothing is dosed until then.",
                        mount, directory));
      }
      if (Clock::now() >= off_at) {
        keep_off(config);
        off_at = Clock::now() + kOffEvery;
      }
    }
  }
}

}  // namespace limegate::app
