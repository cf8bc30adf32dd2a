#include <array>
#include <bit>
#include <cerrno>
#include <cstddef>
#include <system_error>

#include <arpa/inet.h>
#include <netinet/in.h>
#include <netinet/tcp.h>
#include <sys/socket.h>
#include <unistd.h>

#include "support/slave_port.h"

namespace limegate::test {
namespace {

void require(bool done, const char* what) {
  if (!done) {
    throw std::system_error(errno, std::system_category(), what);
  }
}

std::uint16_t word_at(const SlaveBytes& bytes, std::size_t at) {
  return static_cast<std::uint16_t>(bytes[at] << 8 | bytes[at + 1]);
}

void append(SlaveBytes& bytes, std::uint16_t word) {
  bytes.push_back(static_cast<std::uint8_t>(word >> 8));
  bytes.push_back(static_cast<std::uint8_t>(word & 0xFF));
}

}  // namespace

SlaveTcpPort::~SlaveTcpPort() {
  close_all();
  if (reserved_ >= 0) {
    ::close(reserved_);
  }
}

void SlaveTcpPort::open() {
  listener_ = bind_number();
  require(::listen(listener_, 16) == 0, "listen");
  if (reserved_ >= 0) {
    ::close(reserved_);
    reserved_ = -1;
  }
}

int SlaveTcpPort::bind_number() {
  const int socket = ::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
  require(socket >= 0, "socket");
  const int on = 1;
  ::setsockopt(socket, SOL_SOCKET, SO_REUSEADDR, &on, sizeof on);
  sockaddr_in address{};
  address.sin_family = AF_INET;
  address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  address.sin_port = htons(static_cast<std::uint16_t>(number_));
  socklen_t size = sizeof address;
  // The socket interface wants its own base type.
  auto* base = std::bit_cast<sockaddr*>(&address);
  require(::bind(socket, base, size) == 0, "bind");
  require(::getsockname(socket, base, &size) == 0, "getsockname");
  number_ = ntohs(address.sin_port);
  return socket;
}

void SlaveTcpPort::close() {
  close_all();
  if (reserved_ < 0) {
    reserved_ = bind_number();
  }
}

void SlaveTcpPort::close_all() {
  if (listener_ >= 0) {
    ::close(listener_);
  }
  listener_ = -1;
  for (const auto& [client, pending] : clients_) {
    ::close(client);
  }
  clients_.clear();
}

std::vector<int> SlaveTcpPort::descriptors() const {
  std::vector<int> all;
  if (listener_ >= 0) {
    all.push_back(listener_);
  }
  for (const auto& [client, pending] : clients_) {
    all.push_back(client);
  }
  return all;
}

std::vector<SlaveRequest> SlaveTcpPort::receive(int descriptor) {
  if (descriptor == listener_) {
    const int client = ::accept4(listener_, nullptr, nullptr, SOCK_CLOEXEC);
    if (client < 0) {
      return {};
    }
    const int on = 1;
    ::setsockopt(client, IPPROTO_TCP, TCP_NODELAY, &on, sizeof on);
    clients_[client];
    return {};
  }
  std::array<std::uint8_t, 512> buffer{};
  const ssize_t size = ::recv(descriptor, buffer.data(), buffer.size(), MSG_DONTWAIT);
  if (size <= 0) {
    ::close(descriptor);
    clients_.erase(descriptor);
    return {};
  }
  SlaveBytes& pending = clients_[descriptor];
  pending.insert(pending.end(), buffer.begin(), buffer.begin() + size);
  std::vector<SlaveRequest> requests;
  // MBAP: transaction, protocol, length, unit (Modbus TCP implementation guide V1.0b, 3.1.3).
  while (pending.size() >= 8 && pending.size() >= 6U + word_at(pending, 4)) {
    const auto end = pending.begin() + 6 + word_at(pending, 4);
    requests.push_back({descriptor, word_at(pending, 0), pending[6], {pending.begin() + 7, end}});
    pending.erase(pending.begin(), end);
  }
  return requests;
}

SlaveBytes SlaveTcpPort::frame(const SlaveRequest& request, int unit, const SlaveBytes& pdu,
                               Check check) const {
  SlaveBytes bytes;
  append(bytes, request.transaction);
  append(bytes, 0);
  const std::size_t length = pdu.size() + 1 + (check == Check::wrong ? 1 : 0);
  append(bytes, static_cast<std::uint16_t>(length));
  bytes.push_back(static_cast<std::uint8_t>(unit));
  bytes.insert(bytes.end(), pdu.begin(), pdu.end());
  return bytes;
}

void SlaveTcpPort::send(int descriptor, std::span<const std::uint8_t> bytes) {
  if (clients_.count(descriptor) == 0) {
    return;
  }
  ::send(descriptor, bytes.data(), bytes.size(), MSG_NOSIGNAL);
}

}  // namespace limegate::test
