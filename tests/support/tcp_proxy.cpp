#include "support/tcp_proxy.h"

#include <array>
#include <stdexcept>

#include <arpa/inet.h>
#include <netinet/in.h>
#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

namespace limegate::test {
namespace {

constexpr int kPatienceMs = 20;

sockaddr_in loopback(int port) {
  sockaddr_in address{};
  address.sin_family = AF_INET;
  address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  address.sin_port = htons(static_cast<std::uint16_t>(port));
  return address;
}

// That is how sockets are addressed.
sockaddr* as_address(sockaddr_in& address) { return reinterpret_cast<sockaddr*>(&address); }

/// Passes on what is there; false at the end of the stream.
bool pass_once(int from, int to) {
  std::array<char, 16384> bytes{};
  const ssize_t got = ::recv(from, bytes.data(), bytes.size(), MSG_DONTWAIT);
  if (got < 0) {
    return true;
  }
  return got > 0 && ::send(to, bytes.data(), static_cast<std::size_t>(got), MSG_NOSIGNAL) == got;
}

}  // namespace

TcpProxy::TcpProxy(int to_port)
    : to_port_(to_port), listener_(::socket(AF_INET, SOCK_STREAM, 0)), port_(0) {
  sockaddr_in address = loopback(0);
  socklen_t size = sizeof(address);
  if (::bind(listener_, as_address(address), size) != 0 || ::listen(listener_, 5) != 0 ||
      ::getsockname(listener_, as_address(address), &size) != 0) {
    throw std::runtime_error("the proxy can't listen");
  }
  port_ = ntohs(address.sin_port);
  thread_ = std::thread{[this] { run(); }};
}

TcpProxy::~TcpProxy() {
  stopping_ = true;
  thread_.join();
  ::close(listener_);
}

void TcpProxy::run() {
  while (!stopping_) {
    pollfd waiting{listener_, POLLIN, 0};
    if (::poll(&waiting, 1, kPatienceMs) == 1) {
      const int client = ::accept(listener_, nullptr, nullptr);
      pass(client);
      ::close(client);
    }
  }
}

void TcpProxy::pass(int client) {
  const int server = ::socket(AF_INET, SOCK_STREAM, 0);
  sockaddr_in address = loopback(to_port_);
  bool open = ::connect(server, as_address(address), sizeof(address)) == 0;
  while (open && !stopping_) {
    std::array<pollfd, 3> waiting{
        {{client, POLLIN, 0}, {server, POLLIN, 0}, {listener_, POLLIN, 0}}};
    if (hanging_) {
      ::usleep(kPatienceMs * 1000);
      // Somebody new means that the old one has given up.
      open = ::poll(&waiting[2], 1, 0) == 0;
      continue;
    }
    (void)::poll(waiting.data(), 2, kPatienceMs);
    open = (waiting[0].revents == 0 || pass_once(client, server)) &&
           (waiting[1].revents == 0 || pass_once(server, client));
  }
  ::close(server);
}

}  // namespace limegate::test
