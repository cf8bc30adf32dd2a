#include "files/new_file.h"

#include <cerrno>
#include <cstdio>
#include <system_error>
#include <utility>

#include <fcntl.h>
#include <stdlib.h>  // NOLINT(modernize-deprecated-headers): mkostemp is not in <cstdlib>
#include <sys/stat.h>
#include <unistd.h>

namespace limegate::files {
namespace {

tl::unexpected<std::string> why(int error) {
  return tl::unexpected(std::generic_category().message(error));
}

/// What a file gets that a person makes; mkostemp gives less.
mode_t usual_mode() {
  const mode_t mask = ::umask(0);
  ::umask(mask);
  return 0666 & ~mask;
}

}  // namespace

tl::expected<NewFile, std::string> NewFile::begin(const std::string& path) {
  std::string fresh = path + ".XXXXXX";
  const int file = ::mkostemp(fresh.data(), O_CLOEXEC);
  if (file < 0) {
    return why(errno);
  }
  NewFile begun{path, std::move(fresh), file};
  if (::fchmod(file, usual_mode()) != 0) {
    return why(errno);
  }
  return begun;
}

NewFile::NewFile(NewFile&& other) noexcept
    : path_(std::move(other.path_)),
      fresh_(std::exchange(other.fresh_, {})),
      file_(std::exchange(other.file_, -1)),
      error_(other.error_) {}

NewFile::~NewFile() {
  close();
  if (!fresh_.empty()) {
    ::unlink(fresh_.c_str());
  }
}

void NewFile::close() {
  if (file_ >= 0 && ::close(std::exchange(file_, -1)) != 0 && error_ == 0) {
    error_ = errno;
  }
}

void NewFile::write(std::string_view bytes) {
  while (!bytes.empty() && error_ == 0) {
    const ssize_t written = ::write(file_, bytes.data(), bytes.size());
    if (written > 0) {
      bytes.remove_prefix(static_cast<std::size_t>(written));
    } else if (errno != EINTR) {
      error_ = errno;
    }
  }
}

tl::expected<void, std::string> NewFile::finish() {
  if (error_ == 0 && ::fsync(file_) != 0) {
    error_ = errno;
  }
  close();
  if (error_ == 0 && ::rename(fresh_.c_str(), path_.c_str()) != 0) {
    error_ = errno;
  }
  if (error_ != 0) {
    return why(error_);
  }
  fresh_.clear();
  return {};
}

}  // namespace limegate::files
