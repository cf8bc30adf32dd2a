#include "app/state_dir.h"

#include <cerrno>
#include <filesystem>
#include <fstream>
#include <system_error>
#include <utility>

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/file.h>
#include <unistd.h>

#include "files/mounts.h"

namespace limegate::app {

tl::expected<StateDir, StateDir::Error> StateDir::take(const std::string& path) {
  if (const std::string mount = files::missing_mount(path); !mount.empty()) {
    return tl::unexpected(Error{
        Fault::unusable, fmt::format("fstab names {}, where {} lies, and it is not mounted. Mount "
                                     "it first: what is begun below it now is not found again.",
                                     mount, path)});
  }
  std::error_code error;
  std::filesystem::create_directories(path, error);
  std::error_code no_link;
  const std::string target = std::filesystem::read_symlink(path, no_link).string();
  if (error && !no_link) {
    return tl::unexpected(Error{
        Fault::unusable, fmt::format("{} is a link to {}, and that is not there: create it, or "
                                     "mount what it lies on.",
                                     path, target)});
  }
  if (error) {
    return tl::unexpected(Error{Fault::unusable, path + " can't be created: " + error.message()});
  }
  const std::string lock = path + "/lock";
  int file = ::open(lock.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0640);
  if (file < 0) {
    // A read-only disk still has to be guarded against a second daemon: the directory serves too.
    file = ::open(path.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
  }
  if (file < 0) {
    return tl::unexpected(Error{
        Fault::unusable, lock + " can't be opened: " + std::generic_category().message(errno)});
  }
  if (::flock(file, LOCK_EX | LOCK_NB) != 0) {
    ::close(file);
    return tl::unexpected(Error{Fault::in_use, "another limegate holds " + path +
                                                   ". Nothing was switched. Stop the other one "
                                                   "first, or give this one a state_dir of its "
                                                   "own"});
  }
  return StateDir{path, file};
}

StateDir::~StateDir() {
  if (lock_ >= 0) {
    ::close(lock_);
  }
}

StateDir::StateDir(StateDir&& other) noexcept
    : path_(std::move(other.path_)), lock_(std::exchange(other.lock_, -1)) {}

std::string ledger_path(const std::string& state_dir) { return state_dir + "/ledger.db"; }
std::string readings_path(const std::string& state_dir) { return state_dir + "/readings.db"; }
std::string guard_path(const std::string& state_dir, const std::string& station) {
  return state_dir + "/guard-" + station;
}

std::string witness_path(const std::string& witness_dir, const std::string& station) {
  return witness_dir + "/witness-" + station;
}

journal::Home home_of(const std::string& state_dir) {
  journal::Home home{"unknown", state_dir};
  std::ifstream("/etc/machine-id") >> home.machine;
  std::error_code error;
  const auto real = std::filesystem::canonical(state_dir, error);
  if (!error) {
    home.path = real.string();
  }
  return home;
}

std::string clock_note_path(const std::string& state_dir) { return state_dir + "/clock-is-right"; }

std::string last_valid_path(const std::string& state_dir) { return state_dir + "/last-valid.toml"; }

bool keep_last_valid(const std::string& state_dir, const std::string& text) {
  const std::string path = last_valid_path(state_dir);
  std::ofstream file(path + ".new");
  file << text;
  file.close();
  std::error_code error;
  std::filesystem::rename(path + ".new", path, error);
  return file && !error;
}

}  // namespace limegate::app
