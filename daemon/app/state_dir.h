#pragma once

#include <string>

#include <tl/expected.hpp>

#include "journal/witness.h"

namespace limegate::app {

/// The directory with a daemon's ledger and records, held by one process at a time.
class StateDir {
 public:
  enum class Fault { in_use, unusable };
  struct Error {
    Fault fault;
    std::string what;
  };

  /// Creates the directory if need be and takes it. It is given back when the process ends, however
  /// it ends.
  [[nodiscard]] static tl::expected<StateDir, Error> take(const std::string& path);
  ~StateDir();
  StateDir(StateDir&& other) noexcept;
  StateDir& operator=(StateDir&&) = delete;
  StateDir(const StateDir&) = delete;
  StateDir& operator=(const StateDir&) = delete;

  [[nodiscard]] const std::string& path() const { return path_; }

 private:
  StateDir(std::string path, int lock) : path_(std::move(path)), lock_(lock) {}
  std::string path_;
  int lock_;
};

/// The files of a state directory.
[[nodiscard]] std::string ledger_path(const std::string& state_dir);
[[nodiscard]] std::string readings_path(const std::string& state_dir);
/// Of what is known of a station's ledger outside the state directory.
[[nodiscard]] std::string witness_path(const std::string& witness_dir, const std::string& station);
/// This machine, and the directory's path without links.
[[nodiscard]] journal::Home home_of(const std::string& state_dir);
[[nodiscard]] std::string guard_path(const std::string& state_dir, const std::string& station);

/// Where a person's word on the machine's clock is kept.
[[nodiscard]] std::string clock_note_path(const std::string& state_dir);
/// The copy of the last config that was found valid, from which `limegate off` works when the
/// owner's file is broken. Not synced, as a loop may write it that must not wait for a disk: it is
/// for the boot it was written in, and each start writes it anew.
[[nodiscard]] std::string last_valid_path(const std::string& state_dir);
[[nodiscard]] bool keep_last_valid(const std::string& state_dir, const std::string& text);

}  // namespace limegate::app
