#include "rehearsal/unsynced_writes.h"

#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <mutex>
#include <new>
#include <vector>

#include <sqlite3.h>

#include "files/whole_line.h"

namespace limegate::rehearsal {
namespace {

/// A write, or a cut of the file's length, that may be undone and done again.
struct Change {
  std::size_t at, size_before;
  std::string before, after;  ///< what was there of the file, and what was put there
  bool cuts;                  ///< the file ends at `at`
  bool too_late;              ///< after the power went
};

void undo(const Change& change, std::string& content) {
  content.resize(change.size_before);
  content.replace(change.at, change.before.size(), change.before);
}

void redo(const Change& change, std::string& content) {
  content.resize(change.cuts ? change.at
                             : std::max(content.size(), change.at + change.after.size()));
  content.replace(change.at, change.after.size(), change.after);
}

}  // namespace

struct UnsyncedWrites::Watched {
  std::string directory;
  std::mutex mutex;
  enum class Power { on, goes_with_next_sync, gone } power = Power::on;
  std::map<std::string, std::vector<Change>> changes;  ///< of each file that is open, by its path
};

namespace {

using Power = UnsyncedWrites::Watched::Power;

std::mutex& registry_mutex() {
  static std::mutex mutex;
  return mutex;
}

std::vector<std::shared_ptr<UnsyncedWrites::Watched>>& registry() {
  static std::vector<std::shared_ptr<UnsyncedWrites::Watched>> all;
  return all;
}

std::shared_ptr<UnsyncedWrites::Watched> watched_at(const std::string& path) {
  const std::lock_guard lock{registry_mutex()};
  for (const auto& one : registry()) {
    if (path.compare(0, one->directory.size(), one->directory) == 0) {
      return one;
    }
  }
  return nullptr;
}

/// SQLite gives room for one of these; the file of the layer below lies behind it.
struct File {
  sqlite3_file base;
  std::shared_ptr<UnsyncedWrites::Watched>* watched;  ///< null: passes through
  std::string* path;
};

sqlite3_vfs* below() { return sqlite3_vfs_find("unix"); }

File& file_of(sqlite3_file* file) { return *reinterpret_cast<File*>(file); }

sqlite3_file* real(sqlite3_file* file) {
  return reinterpret_cast<sqlite3_file*>(reinterpret_cast<std::byte*>(file) + sizeof(File));
}

/// Before `length` bytes from `offset` on become something else.
void note(sqlite3_file* file, sqlite3_int64 offset, std::size_t length, std::string after) {
  const File& own = file_of(file);
  if (own.watched == nullptr) {
    return;
  }
  sqlite3_int64 size = 0;
  real(file)->pMethods->xFileSize(real(file), &size);
  const auto at = static_cast<std::size_t>(offset), end = static_cast<std::size_t>(size);
  std::string before(at < end ? std::min(length, end - at) : 0, '\0');
  if (!before.empty()) {
    real(file)->pMethods->xRead(real(file), before.data(), static_cast<int>(before.size()), offset);
  }
  const bool cuts = after.empty();
  UnsyncedWrites::Watched& watched = **own.watched;
  const std::lock_guard lock{watched.mutex};
  watched.changes[*own.path].push_back(
      {at, end, std::move(before), std::move(after), cuts, watched.power == Power::gone});
}

int write(sqlite3_file* file, const void* from, int length, sqlite3_int64 offset) {
  const auto size = static_cast<std::size_t>(length);
  note(file, offset, size, std::string{static_cast<const char*>(from), size});
  return real(file)->pMethods->xWrite(real(file), from, length, offset);
}

int truncate(sqlite3_file* file, sqlite3_int64 size) {
  note(file, size, SIZE_MAX, "");
  return real(file)->pMethods->xTruncate(real(file), size);
}

int sync(sqlite3_file* file, int flags) {
  const int code = real(file)->pMethods->xSync(real(file), flags);
  if (const File& own = file_of(file); own.watched != nullptr && code == SQLITE_OK) {
    UnsyncedWrites::Watched& watched = **own.watched;
    const std::lock_guard lock{watched.mutex};
    if (watched.power == Power::on) {
      watched.changes[*own.path].clear();
    } else {
      watched.power = Power::gone;
    }
  }
  return code;
}

int close(sqlite3_file* file) {
  File& own = file_of(file);
  const int code = real(file)->pMethods->xClose(real(file));
  delete own.watched;
  delete own.path;
  own.watched = nullptr;
  own.path = nullptr;
  return code;
}

/// What only passes on, as sqlite3_io_methods wants it.
template <auto Method, class Result, class... Arguments>
Result pass(sqlite3_file* file, Arguments... arguments) {
  return (real(file)->pMethods->*Method)(real(file), arguments...);
}

using Methods = sqlite3_io_methods;
constexpr Methods kMethods{
    3,
    close,
    pass<&Methods::xRead, int, void*, int, sqlite3_int64>,
    write,
    truncate,
    sync,
    pass<&Methods::xFileSize, int, sqlite3_int64*>,
    pass<&Methods::xLock, int, int>,
    pass<&Methods::xUnlock, int, int>,
    pass<&Methods::xCheckReservedLock, int, int*>,
    pass<&Methods::xFileControl, int, int, void*>,
    pass<&Methods::xSectorSize, int>,
    pass<&Methods::xDeviceCharacteristics, int>,
    pass<&Methods::xShmMap, int, int, int, int, void volatile**>,
    pass<&Methods::xShmLock, int, int, int, int>,
    pass<&Methods::xShmBarrier, void>,
    pass<&Methods::xShmUnmap, int, int>,
    pass<&Methods::xFetch, int, sqlite3_int64, int, void**>,
    pass<&Methods::xUnfetch, int, sqlite3_int64, void*>,
};

int open(sqlite3_vfs* /*vfs*/, const char* name, sqlite3_file* file, int flags, int* flags_out) {
  File& own = *new (file) File{};
  const int code = below()->xOpen(below(), name, real(file), flags, flags_out);
  if (code != SQLITE_OK) {
    return code;
  }
  if (name != nullptr && (flags & (SQLITE_OPEN_MAIN_DB | SQLITE_OPEN_WAL)) != 0) {
    if (auto watched = watched_at(name)) {
      {
        const std::lock_guard lock{watched->mutex};
        watched->changes[name];  // one that is open and never written is there too
      }
      own.watched = new std::shared_ptr{std::move(watched)};
      own.path = new std::string{name};
    }
  }
  own.base.pMethods = &kMethods;
  return code;
}

int remove(sqlite3_vfs* /*vfs*/, const char* name, int sync_directory) {
  if (const auto watched = watched_at(name)) {
    const std::lock_guard lock{watched->mutex};
    watched->changes.erase(name);
  }
  return below()->xDelete(below(), name, sync_directory);
}

/// Makes SQLite use this layer, once for the process.
void get_between() {
  static sqlite3_vfs layer = [] {
    sqlite3_vfs made = *below();
    made.zName = "unsynced-writes";
    made.szOsFile = static_cast<int>(sizeof(File)) + below()->szOsFile;
    made.xOpen = open;
    made.xDelete = remove;
    return made;
  }();
  static const int registered = sqlite3_vfs_register(&layer, 1);
  (void)registered;
}

}  // namespace

UnsyncedWrites::UnsyncedWrites(const std::string& directory)
    : watched_(std::make_shared<Watched>()) {
  watched_->directory = directory + "/";
  get_between();
  const std::lock_guard lock{registry_mutex()};
  registry().push_back(watched_);
}

UnsyncedWrites::~UnsyncedWrites() {
  const std::lock_guard lock{registry_mutex()};
  registry().erase(std::remove(registry().begin(), registry().end(), watched_), registry().end());
}

void UnsyncedWrites::forget() {
  const std::lock_guard lock{watched_->mutex};
  watched_->changes.clear();
  watched_->power = Watched::Power::on;
}

void UnsyncedWrites::cut_power_at_next_sync() {
  const std::lock_guard lock{watched_->mutex};
  watched_->power = Watched::Power::goes_with_next_sync;
}

std::map<std::string, std::string> UnsyncedWrites::after_power_cut(
    const std::function<bool()>& stays) const {
  const std::lock_guard lock{watched_->mutex};
  std::map<std::string, std::string> files;
  for (const auto& [path, changes] : watched_->changes) {
    std::string content = files::read(path).value_or("");
    std::for_each(changes.rbegin(), changes.rend(),
                  [&](const Change& change) { undo(change, content); });
    for (const Change& change : changes) {
      if (!change.too_late && stays()) {
        redo(change, content);
      }
    }
    files.emplace(path, std::move(content));
  }
  return files;
}

}  // namespace limegate::rehearsal
