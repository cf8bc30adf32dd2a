#pragma once

#include <string>
#include <string_view>

#include <tl/expected.hpp>

namespace limegate::files {

/// A file that takes its path's place once it is whole: until then, and if anything fails, what is
/// there stays as it is. It is written beside it, under a name that nothing has.
/// Threads: one owner. Errors: why not, as the system says it: "No space left on device".
class NewFile {
 public:
  [[nodiscard]] static tl::expected<NewFile, std::string> begin(const std::string& path);
  /// Removes what was begun and not finished.
  ~NewFile();
  NewFile(NewFile&& other) noexcept;
  NewFile& operator=(NewFile&&) = delete;
  NewFile(const NewFile&) = delete;
  NewFile& operator=(const NewFile&) = delete;

  /// The first failure is kept, and told by `finish`.
  void write(std::string_view bytes);
  [[nodiscard]] bool failed() const { return error_ != 0; }
  /// Once: synced, and put in its place.
  [[nodiscard]] tl::expected<void, std::string> finish();

 private:
  NewFile(std::string path, std::string fresh, int file)
      : path_(std::move(path)), fresh_(std::move(fresh)), file_(file) {}
  void close();

  std::string path_, fresh_;  ///< empty: there is none any more
  int file_;
  int error_ = 0;
};

}  // namespace limegate::files
