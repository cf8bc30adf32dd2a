#include "files/mounts.h"

#include <algorithm>
#include <array>
#include <cstdio>
#include <filesystem>
#include <memory>
#include <system_error>
#include <utility>
#include <vector>

#include <mntent.h>

namespace limegate::files {
namespace {

enum class Which { all, at_boot };

std::vector<std::string> mount_points(const std::string& table, Which which) {
  std::vector<std::string> points;
  const std::unique_ptr<std::FILE, int (*)(std::FILE*)> file{::setmntent(table.c_str(), "re"),
                                                             ::endmntent};
  mntent entry{};
  std::array<char, 4096> room{};
  while (file && ::getmntent_r(file.get(), &entry, room.data(), int{room.size()}) != nullptr) {
    if (which == Which::all || ::hasmntopt(&entry, "noauto") == nullptr) {
      points.emplace_back(entry.mnt_dir);
    }
  }
  return points;
}

bool leads_to(const std::string& point, const std::string& path) {
  return point.size() > 1 && point.front() == '/' && path.rfind(point, 0) == 0 &&
         (path.size() == point.size() || path[point.size()] == '/');
}

/// The path without links. One into what is not mounted yet leads nowhere; it is followed too,
/// which weakly_canonical does not.
std::filesystem::path without_links(std::filesystem::path path, std::error_code& unknown) {
  namespace fs = std::filesystem;
  constexpr int most = 40;  // as the kernel (path_resolution(7))
  for (int links = 0; links < most; ++links) {
    path = fs::weakly_canonical(path, unknown);
    fs::path before;
    auto part = path.begin();
    while (part != path.end() && !fs::is_symlink(fs::symlink_status(before / *part, unknown))) {
      before /= *part++;
    }
    unknown.clear();  // of what is not there
    if (part == path.end()) {
      return path;
    }
    fs::path meant = before / fs::read_symlink(before / *part, unknown);
    for (++part; part != path.end(); ++part) {
      meant /= *part;
    }
    path = std::move(meant);
  }
  return path;
}

}  // namespace

std::string missing_mount(const std::string& path, const std::string& fstab,
                          const std::string& mounted) {
  std::error_code unknown;
  const std::string whole = without_links(path, unknown).string();
  const std::vector<std::string> there = mount_points(mounted, Which::all);
  std::string missing;
  if (unknown || there.empty()) {
    return missing;
  }
  for (std::string& point : mount_points(fstab, Which::at_boot)) {
    while (point.size() > 1 && point.back() == '/') {
      point.pop_back();
    }
    if (leads_to(point, whole) && point.size() > missing.size() &&
        std::find(there.begin(), there.end(), point) == there.end()) {
      missing = point;
    }
  }
  return missing;
}

}  // namespace limegate::files
