#include "guard/record.h"

#include <filesystem>
#include <fstream>
#include <sstream>

#include <boost/crc.hpp>
#include <fcntl.h>
#include <unistd.h>

namespace limegate::guard {
namespace {

constexpr const char* kMark = "limegate-guard-1";

std::uint32_t checksum(const std::string& text) {
  boost::crc_32_type crc;
  crc.process_bytes(text.data(), text.size());
  return crc.checksum();
}

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

std::string Record::to_line() const {
  std::ostringstream out;
  out << kMark << ' ' << boot << ' ' << newest_pulse_id << ' '
      << (stirrer == Stirrer::running ? "running" : "resting") << ' '
      << stir_ended.time_since_epoch().count();
  const std::string body = out.str();
  return body + ' ' + std::to_string(checksum(body)) + '\n';
}

std::optional<Record> Record::from_line(const std::string& line) {
  std::istringstream in(line);
  std::string mark;
  std::string stirrer;
  Record record;
  Duration::rep ended = 0;
  std::uint32_t sum = 0;
  if (!(in >> mark >> record.boot >> record.newest_pulse_id >> stirrer >> ended >> sum)) {
    return std::nullopt;
  }
  record.stirrer = stirrer == "running" ? Stirrer::running : Stirrer::resting;
  record.stir_ended = Instant{Duration{ended}};
  // The line must be the very one that this record makes: mark, sum and all.
  return record.to_line() == line ? std::optional{record} : std::nullopt;
}

RecordStore::Saved write_record(const std::string& path, const Record& record) {
  const std::string fresh = path + ".new";
  std::error_code error;
  if (!write_synced(fresh, record.to_line())) {
    return RecordStore::Saved::failed;
  }
  std::filesystem::rename(fresh, path, error);
  const std::string directory = std::filesystem::path{path}.parent_path().string();
  return !error && sync_directory(directory.empty() ? "." : directory) ? RecordStore::Saved::durably
                                                                       : RecordStore::Saved::failed;
}

std::optional<Record> read_record(const std::string& path) {
  std::ifstream file(path);
  std::stringstream text;
  text << file.rdbuf();
  return file ? Record::from_line(text.str()) : std::nullopt;
}

}  // namespace limegate::guard
