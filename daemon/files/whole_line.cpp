#include "files/whole_line.h"

#include <filesystem>
#include <fstream>
#include <sstream>

#include <boost/crc.hpp>
#include <fcntl.h>
#include <unistd.h>

namespace limegate::files {
namespace {

/// Writes, syncs and closes; false if any of it failed.
bool write_synced(const std::string& path, const std::string& text) {
  const int file = ::open(path.c_str(), O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0640);
  if (file < 0) {
    return false;
  }
  const bool written = ::write(file, text.data(), text.size()) == static_cast<ssize_t>(text.size());
  const bool synced = written && ::fsync(file) == 0;
  return ::close(file) == 0 && synced;
}

/// A rename is durable only when its directory is.
bool sync_directory(const std::string& path) {
  const int directory = ::open(path.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
  if (directory < 0) {
    return false;
  }
  const bool synced = ::fsync(directory) == 0;
  ::close(directory);
  return synced;
}

}  // namespace

std::string with_sum(const std::string& body) {
  boost::crc_32_type crc;
  crc.process_bytes(body.data(), body.size());
  return body + ' ' + std::to_string(crc.checksum()) + '\n';
}

std::optional<std::string> body_of(const std::string& line) {
  const auto end = line.rfind(' ');
  if (end == std::string::npos) {
    return std::nullopt;
  }
  std::string body = line.substr(0, end);
  return with_sum(body) == line ? std::optional{std::move(body)} : std::nullopt;
}

bool replace(const std::string& path, const std::string& text) {
  const std::string fresh = path + ".new";
  if (!write_synced(fresh, text)) {
    return false;
  }
  std::error_code error;
  std::filesystem::rename(fresh, path, error);
  const std::string directory = std::filesystem::path{path}.parent_path().string();
  return !error && sync_directory(directory.empty() ? "." : directory);
}

std::optional<std::string> read(const std::string& path) {
  std::ifstream file(path);
  std::stringstream text;
  text << file.rdbuf();
  return file ? std::optional{text.str()} : std::nullopt;
}

}  // namespace limegate::files
