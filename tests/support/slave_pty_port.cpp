#include <algorithm>
#include <array>
#include <cerrno>
#include <cstddef>
#include <system_error>

#include <fcntl.h>
#include <stdlib.h>  // NOLINT(modernize-deprecated-headers): posix_openpt and its kin are not in std
#include <sys/file.h>
#include <termios.h>
#include <unistd.h>

#include "support/slave_port.h"

namespace limegate::test {
namespace {

void require(bool done, const char* what) {
  if (!done) {
    throw std::system_error(errno, std::system_category(), what);
  }
}

/// The size of the request that `bytes` begins with, once enough of it is there to tell.
std::size_t request_size(const SlaveBytes& bytes) {
  constexpr std::size_t single = 8;  // unit, function, two words, CRC
  if (bytes.size() < 7) {
    return single;
  }
  const bool many = bytes[1] == 15 || bytes[1] == 16;
  return many ? 9U + bytes[6] : single;
}

}  // namespace

std::uint16_t slave_crc(std::span<const std::uint8_t> bytes) {
  unsigned crc = 0xFFFF;
  for (const unsigned byte : bytes) {
    crc ^= byte;
    for (int i = 0; i < 8; ++i) {
      crc = (crc & 1U) != 0 ? (crc >> 1U) ^ 0xA001U : crc >> 1U;
    }
  }
  return static_cast<std::uint16_t>(crc);
}

SlavePtyPort::SlavePtyPort() {
  std::string name = "/tmp/limegate_slave_XXXXXX";
  require(::mkdtemp(name.data()) != nullptr, "mkdtemp");
  folder_ = name;
  link_ = folder_ + "/line";
}

SlavePtyPort::~SlavePtyPort() {
  close();
  ::rmdir(folder_.c_str());
}

void SlavePtyPort::open() {
  master_ = ::posix_openpt(O_RDWR | O_NOCTTY | O_CLOEXEC | O_NONBLOCK);
  require(master_ >= 0, "posix_openpt");
  require(::grantpt(master_) == 0 && ::unlockpt(master_) == 0, "unlockpt");
  std::array<char, 128> name{};
  require(::ptsname_r(master_, name.data(), name.size()) == 0, "ptsname_r");
  own_end_ = ::open(name.data(), O_RDWR | O_NOCTTY | O_CLOEXEC);
  require(own_end_ >= 0, "open the pseudo-terminal");
  termios raw{};
  require(::tcgetattr(own_end_, &raw) == 0, "tcgetattr");
  ::cfmakeraw(&raw);
  require(::tcsetattr(own_end_, TCSANOW, &raw) == 0, "tcsetattr");
  require(::symlink(name.data(), link_.c_str()) == 0, "symlink");
}

void SlavePtyPort::close() {
  if (master_ < 0) {
    return;
  }
  ::unlink(link_.c_str());
  ::close(own_end_);
  ::close(master_);
  master_ = own_end_ = -1;
  pending_.clear();
}

std::vector<int> SlavePtyPort::descriptors() const {
  return master_ >= 0 ? std::vector<int>{master_} : std::vector<int>{};
}

std::vector<SlaveRequest> SlavePtyPort::receive(int descriptor) {
  std::array<std::uint8_t, 512> buffer{};
  const ssize_t size = ::read(descriptor, buffer.data(), buffer.size());
  if (size <= 0) {
    return {};
  }
  const auto now = std::chrono::steady_clock::now();
  // A frame has no pauses: what is left over from before one was never a whole request.
  if (now - last_byte_ > std::chrono::milliseconds{50}) {
    pending_.clear();
  }
  last_byte_ = now;
  pending_.insert(pending_.end(), buffer.begin(), buffer.begin() + size);
  std::vector<SlaveRequest> requests;
  while (pending_.size() >= request_size(pending_)) {
    const auto end = pending_.begin() + static_cast<std::ptrdiff_t>(request_size(pending_));
    const SlaveBytes frame{pending_.begin(), end};
    pending_.erase(pending_.begin(), end);
    const std::uint16_t crc = slave_crc(std::span{frame}.first(frame.size() - 2));
    const auto sent =
        static_cast<std::uint16_t>(frame[frame.size() - 1] << 8 | frame[frame.size() - 2]);
    if (crc != sent) {
      pending_.clear();
      return requests;
    }
    requests.push_back({descriptor, 0, frame[0], {frame.begin() + 1, frame.end() - 2}});
  }
  return requests;
}

SlaveBytes SlavePtyPort::frame(const SlaveRequest& /*request*/, int unit, const SlaveBytes& pdu,
                               Check check) const {
  SlaveBytes bytes;
  bytes.reserve(pdu.size() + 3);
  bytes.push_back(static_cast<std::uint8_t>(unit));
  bytes.insert(bytes.end(), pdu.begin(), pdu.end());
  const unsigned crc = slave_crc(bytes) ^ (check == Check::wrong ? 1U : 0U);
  bytes.push_back(static_cast<std::uint8_t>(crc & 0xFFU));
  bytes.push_back(static_cast<std::uint8_t>(crc >> 8U));
  return bytes;
}

void SlavePtyPort::send(int descriptor, std::span<const std::uint8_t> bytes) {
  if (descriptor != master_) {
    return;
  }
  while (!bytes.empty()) {
    const ssize_t size = ::write(descriptor, bytes.data(), bytes.size());
    if (size <= 0) {
      return;
    }
    bytes = bytes.subspan(static_cast<std::size_t>(size));
  }
}

}  // namespace limegate::test
