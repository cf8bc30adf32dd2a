#include "config/readable.h"

#include <algorithm>
#include <filesystem>
#include <system_error>
#include <vector>

#include <grp.h>
#include <sys/stat.h>

namespace limegate::config {
namespace {

struct Rights {
  mode_t owner, group, others;
};
constexpr Rights kRead{S_IRUSR, S_IRGRP, S_IROTH};
constexpr Rights kEnter{S_IXUSR, S_IXGRP, S_IXOTH};

std::vector<gid_t> groups_of(const passwd& user) {
  int count = 64;
  std::vector<gid_t> groups(static_cast<std::size_t>(count));
  if (::getgrouplist(user.pw_name, user.pw_gid, groups.data(), &count) < 0) {
    count = 64;  // more groups than anybody has: the first ones
  }
  groups.resize(static_cast<std::size_t>(count));
  return groups;
}

/// The first of the three classes that fits is the one that counts (POSIX.1-2017, 4.5).
bool may(const passwd& user, const std::vector<gid_t>& groups, const std::string& path,
         const Rights& rights) {
  struct stat status {};
  if (user.pw_uid == 0 || ::stat(path.c_str(), &status) != 0) {
    return true;
  }
  if (status.st_uid == user.pw_uid) {
    return (status.st_mode & rights.owner) != 0;
  }
  const bool member = std::find(groups.begin(), groups.end(), status.st_gid) != groups.end();
  return (status.st_mode & (member ? rights.group : rights.others)) != 0;
}

}  // namespace

std::optional<std::string> barrier_to(const std::string& file, const passwd& user) {
  const std::vector<gid_t> groups = groups_of(user);
  std::error_code unknown;
  const auto as_named = std::filesystem::absolute(file, unknown);
  const auto behind_links = std::filesystem::canonical(file, unknown);
  for (const auto& path : {as_named, behind_links}) {
    std::filesystem::path directory;
    for (const auto& part : path.parent_path()) {
      directory /= part;
      if (!may(user, groups, directory.string(), kEnter)) {
        return directory.string();
      }
    }
  }
  return may(user, groups, file, kRead) ? std::nullopt : std::optional{file};
}

}  // namespace limegate::config
