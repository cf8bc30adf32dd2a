#include "support/program.h"

#include <csignal>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <stdexcept>
#include <system_error>
#include <thread>
#include <utility>

#include <fcntl.h>
#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>

namespace limegate::test {

Program::Program(const std::vector<std::string>& argv, std::string output)
    : output_(std::move(output)) {
  std::vector<std::string> copies = argv;
  std::vector<char*> pointers;
  pointers.reserve(copies.size() + 1);
  for (std::string& argument : copies) {
    pointers.push_back(argument.data());
  }
  pointers.push_back(nullptr);
  // Not fork: in a test of many threads a lock may be held by one that the child does not have, and
  // the child then waits for ever.
  posix_spawn_file_actions_t files;
  ::posix_spawn_file_actions_init(&files);
  ::posix_spawn_file_actions_addopen(&files, STDOUT_FILENO, output_.c_str(),
                                     O_WRONLY | O_CREAT | O_APPEND, 0600);
  ::posix_spawn_file_actions_adddup2(&files, STDOUT_FILENO, STDERR_FILENO);
  const int failed = ::posix_spawn(&pid_, pointers[0], &files, nullptr, pointers.data(), environ);
  ::posix_spawn_file_actions_destroy(&files);
  if (failed != 0) {
    throw std::runtime_error(argv[0] +
                             " can't be started: " + std::generic_category().message(failed));
  }
}

Program::~Program() {
  if (!ended_) {
    signal(SIGKILL);
    (void)wait(std::chrono::seconds{10});
  }
}

void Program::signal(int number) const { ::kill(pid_, number); }

std::optional<int> Program::wait(std::chrono::milliseconds within) {
  const auto deadline = std::chrono::steady_clock::now() + within;
  while (!ended_) {
    int status = 0;
    if (::waitpid(pid_, &status, WNOHANG) == pid_) {
      ended_ = WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
    } else if (std::chrono::steady_clock::now() > deadline) {
      return std::nullopt;
    } else {
      std::this_thread::sleep_for(std::chrono::milliseconds{1});
    }
  }
  return ended_;
}

std::string Program::output() const { return read_file(output_); }

Ran run_program(const std::vector<std::string>& argv) {
  const TempDir folder;
  Program program{argv, folder.path() + "/output"};
  const auto code = program.wait(std::chrono::seconds{300});
  return {code.value_or(-1), program.output()};
}

TempDir::TempDir() {
  std::string pattern = (std::filesystem::temp_directory_path() / "limegate-test-XXXXXX").string();
  if (::mkdtemp(pattern.data()) == nullptr) {
    throw std::runtime_error("mkdtemp failed");
  }
  path_ = pattern;
}

TempDir::~TempDir() {
  std::error_code ignored;
  std::filesystem::remove_all(path_, ignored);
}

bool contains(const std::string& text, const std::string& part, int times) {
  std::size_t at = 0;
  for (; times > 0 && (at = text.find(part, at)) != std::string::npos; --times) {
    at += part.size();
  }
  return times == 0;
}

std::string read_file(const std::string& path) {
  std::ifstream file(path);
  std::stringstream text;
  text << file.rdbuf();
  return text.str();
}

void write_file(const std::string& path, const std::string& text) {
  std::ofstream file(path);
  file << text;
}

}  // namespace limegate::test
