#pragma once

#include <string>

namespace limegate::files {

/// The mount point on the way to `path` that fstab(5) names and where nothing is mounted yet: what
/// stands below it now is not what is meant. Of several the innermost; empty: there is none, or
/// nothing can be told. What is only mounted by hand (noauto) is not waited for.
[[nodiscard]] std::string missing_mount(const std::string& path,
                                        const std::string& fstab = "/etc/fstab",
                                        const std::string& mounted = "/proc/self/mounts");

}  // namespace limegate::files
