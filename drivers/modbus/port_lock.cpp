#include "modbus/port_lock.h"

#include <cerrno>
#include <system_error>

#include <fcntl.h>
#include <sys/file.h>
#include <unistd.h>

namespace limegate::modbus {

PortLock::~PortLock() { release(); }

std::string PortLock::take(const std::string& path) {
  release();
  descriptor_ = ::open(path.c_str(), O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
  if (descriptor_ < 0) {
    // EBUSY: another program holds the port with TIOCEXCL.
    return errno == EBUSY ? "in use by another program" : std::system_category().message(errno);
  }
  if (::flock(descriptor_, LOCK_EX | LOCK_NB) == 0) {
    return {};
  }
  const int error = errno;
  release();
  return error == EWOULDBLOCK ? "in use by another program" : std::system_category().message(error);
}

void PortLock::release() {
  if (descriptor_ >= 0) {
    ::close(descriptor_);
  }
  descriptor_ = -1;
}

}  // namespace limegate::modbus
