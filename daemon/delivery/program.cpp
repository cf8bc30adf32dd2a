// A program of the owner's.

#include <cerrno>
#include <chrono>
#include <csignal>
#include <string>
#include <vector>

#include <fmt/format.h>
#include <poll.h>
#include <spawn.h>
#include <sys/mman.h>
#include <sys/syscall.h>
#include <sys/wait.h>
#include <unistd.h>

#include "delivery/attempt.h"

namespace limegate::delivery {
namespace {

using Clock = std::chrono::steady_clock;
using Deadline = Clock::time_point;

int left_until(Deadline deadline) {
  const auto left =
      std::chrono::duration_cast<std::chrono::milliseconds>(deadline - Clock::now()).count();
  return static_cast<int>(std::max<std::int64_t>(left, 0));
}

/// The whole text before the program starts, so that it reads all of it whatever becomes of us:
/// from a pipe it would take half a message for a whole one when we are killed. Negative: there is
/// none.
int file_of(const std::string& text) {
  const int file = ::memfd_create("message", MFD_CLOEXEC);
  if (file >= 0 && (::write(file, text.data(), text.size()) != static_cast<ssize_t>(text.size()) ||
                    ::lseek(file, 0, SEEK_SET) != 0)) {
    (void)::close(file);
    return -1;
  }
  return file;
}

/// Its exit status; absent: its time was up, and it was killed with all that it had started.
std::optional<int> wait_for(pid_t child, Deadline deadline) {
  const int handle = static_cast<int>(::syscall(SYS_pidfd_open, child, 0));
  pollfd ended{handle, POLLIN, 0};
  const bool in_time = handle >= 0 && ::poll(&ended, 1, left_until(deadline)) > 0;
  (void)::close(handle);
  if (!in_time) {
    (void)::kill(-child, SIGKILL);  // what it left behind in time is the owner's to know
  }
  int status = 0;
  while (::waitpid(child, &status, 0) < 0 && errno == EINTR) {
  }
  return in_time ? std::optional{status} : std::nullopt;
}

std::vector<std::string> environment_of(const Envelope& envelope) {
  return {"PATH=/usr/local/sbin:/usr/local/bin:/usr/sbin:/usr/bin:/sbin:/bin",
          "LIMEGATE_MESSAGE_ID=" + envelope.id,
          "LIMEGATE_MESSAGE_TYPE=" + envelope.type,
          "LIMEGATE_TIME=" + envelope.time,
          "LIMEGATE_STATION=" + envelope.station,
          "LIMEGATE_ALERT=" + envelope.alert,
          std::string{"LIMEGATE_URGENCY="} + alerts::name_of(envelope.urgency),
          "LIMEGATE_SUBJECT=" + envelope.subject};
}

std::vector<char*> pointers_to(std::vector<std::string>& texts) {
  std::vector<char*> pointers;
  pointers.reserve(texts.size() + 1);
  for (std::string& text : texts) {
    pointers.push_back(text.data());
  }
  pointers.push_back(nullptr);
  return pointers;
}

}  // namespace

Attempt run_program(const alerts::Program& program, const Envelope& envelope) {
  const int text = file_of(envelope.text);
  if (text < 0) {
    return {Attempt::Came::not_now,
            program.path + " can't be started: there is no memory for its message"};
  }
  posix_spawn_file_actions_t files{};
  posix_spawnattr_t attributes{};
  (void)::posix_spawn_file_actions_init(&files);
  (void)::posix_spawn_file_actions_adddup2(&files, text, STDIN_FILENO);
  (void)::posix_spawnattr_init(&attributes);
  // A group of its own, so that nothing that it starts outlives its time.
  (void)::posix_spawnattr_setflags(&attributes, POSIX_SPAWN_SETPGROUP | POSIX_SPAWN_SETSIGDEF);
  sigset_t defaults{};
  (void)::sigemptyset(&defaults);
  (void)::sigaddset(&defaults, SIGPIPE);
  (void)::posix_spawnattr_setsigdefault(&attributes, &defaults);
  std::vector<std::string> arguments{program.path};
  std::vector<std::string> environment = environment_of(envelope);
  pid_t child = 0;
  const int failed = ::posix_spawn(&child, program.path.c_str(), &files, &attributes,
                                   pointers_to(arguments).data(), pointers_to(environment).data());
  (void)::posix_spawn_file_actions_destroy(&files);
  (void)::posix_spawnattr_destroy(&attributes);
  (void)::close(text);
  if (failed != 0) {
    return {Attempt::Came::not_now,
            fmt::format("{} can't be started (error {}): is it there, and executable?",
                        program.path, failed)};
  }
  const Deadline deadline =
      Clock::now() + std::chrono::duration_cast<Clock::duration>(program.time_limit);
  const auto status = wait_for(child, deadline);
  if (!status) {
    return {
        Attempt::Came::not_now,
        fmt::format("{} did not end within {} s and was ended", program.path,
                    std::chrono::duration_cast<std::chrono::seconds>(program.time_limit).count())};
  }
  if (WIFEXITED(*status) && WEXITSTATUS(*status) == 0) {
    return {Attempt::Came::delivered, program.path + " ended with 0"};
  }
  return {Attempt::Came::not_now,
          WIFEXITED(*status)
              ? fmt::format("{} ended with {}", program.path, WEXITSTATUS(*status))
              : fmt::format("{} was ended by signal {}", program.path, WTERMSIG(*status))};
}

}  // namespace limegate::delivery
