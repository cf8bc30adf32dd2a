#include "files/regular.h"

#include <cerrno>
#include <system_error>

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

namespace limegate::files {
namespace {

tl::expected<std::string, std::string> read_open(int file, std::size_t most) {
  struct stat status {};
  if (::fstat(file, &status) != 0) {
    return tl::unexpected(std::generic_category().message(errno));
  }
  if (!S_ISREG(status.st_mode)) {
    return tl::unexpected(
        std::string{S_ISDIR(status.st_mode) ? "it is a directory" : "it is no ordinary file"});
  }
  std::string text(most + 1, '\0');
  std::size_t have = 0;
  while (have <= most) {
    const ssize_t more = ::read(file, text.data() + have, text.size() - have);
    if (more < 0 && errno != EINTR) {
      return tl::unexpected(std::generic_category().message(errno));
    }
    if (more == 0) {
      text.resize(have);
      return text;
    }
    have += more > 0 ? static_cast<std::size_t>(more) : 0;
  }
  return tl::unexpected("it is longer than " + std::to_string(most) + " bytes");
}

}  // namespace

tl::expected<std::string, std::string> read_regular(const std::string& path, std::size_t most) {
  // Not waiting: a pipe without a writer would keep it for ever.
  const int file = ::open(path.c_str(), O_RDONLY | O_NONBLOCK | O_NOCTTY | O_CLOEXEC);
  if (file < 0) {
    return tl::unexpected(std::generic_category().message(errno));
  }
  auto text = read_open(file, most);
  ::close(file);
  return text;
}

}  // namespace limegate::files
