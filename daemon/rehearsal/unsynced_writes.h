#pragma once

#include <functional>
#include <map>
#include <memory>
#include <string>

namespace limegate::rehearsal {

/// What SQLite has written to databases below a directory and has not synced: a power cut may lose
/// any of it, in any order. A layer between SQLite and its own access to files, for the whole
/// process from the first object on; files elsewhere pass through it as they are.
/// Source: "Atomic Commit In SQLite", section 2, hardware assumptions (sqlite.org).
/// Threads: one owner; others may have objects for other directories.
class UnsyncedWrites {
 public:
  /// Before any database below the directory is opened.
  explicit UnsyncedWrites(const std::string& directory);
  ~UnsyncedWrites();
  UnsyncedWrites(const UnsyncedWrites&) = delete;
  UnsyncedWrites& operator=(const UnsyncedWrites&) = delete;
  UnsyncedWrites(UnsyncedWrites&&) = delete;
  UnsyncedWrites& operator=(UnsyncedWrites&&) = delete;

  /// Whatever the files hold by now is on the disk, and the power is on.
  void forget();
  /// The power goes while the next sync is under way: nothing after it happened.
  void cut_power_at_next_sync();
  /// The content of each open file, by its path, after the power went now: `stays` is asked of each
  /// write that was not synced, in the order in which they were made.
  [[nodiscard]] std::map<std::string, std::string> after_power_cut(
      const std::function<bool()>& stays) const;

  struct Watched;

 private:
  std::shared_ptr<Watched> watched_;
};

}  // namespace limegate::rehearsal
