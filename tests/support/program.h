#pragma once

#include <chrono>
#include <optional>
#include <string>
#include <vector>

#include <sys/types.h>

namespace limegate::test {

/// A child process whose output goes to a file. It is killed when this object goes.
class Program {
 public:
  /// Starts `argv[0]` with the rest as arguments; stdout and stderr go to `output`.
  Program(const std::vector<std::string>& argv, std::string output);
  ~Program();
  Program(const Program&) = delete;
  Program& operator=(const Program&) = delete;
  Program(Program&&) = delete;
  Program& operator=(Program&&) = delete;

  void signal(int number) const;
  [[nodiscard]] pid_t pid() const { return pid_; }
  /// Waits for the end; the exit code, or 128 + signal. Absent if it still runs after `within`.
  std::optional<int> wait(std::chrono::milliseconds within);
  [[nodiscard]] std::string output() const;

 private:
  std::string output_;
  pid_t pid_ = -1;
  std::optional<int> ended_;
};

/// Runs to the end (within a minute); the exit code and everything it printed.
struct Ran {
  int code;
  std::string output;
};
[[nodiscard]] Ran run_program(const std::vector<std::string>& argv);

/// A fresh folder below the system's temporary one, removed when this object goes.
class TempDir {
 public:
  TempDir();
  ~TempDir();
  TempDir(const TempDir&) = delete;
  TempDir& operator=(const TempDir&) = delete;
  TempDir(TempDir&&) = delete;
  TempDir& operator=(TempDir&&) = delete;
  [[nodiscard]] const std::string& path() const { return path_; }

 private:
  std::string path_;
};

/// Whether `part` stands in `text` at least so many times.
[[nodiscard]] bool contains(const std::string& text, const std::string& part, int times = 1);

[[nodiscard]] std::string read_file(const std::string& path);
void write_file(const std::string& path, const std::string& text);

}  // namespace limegate::test
