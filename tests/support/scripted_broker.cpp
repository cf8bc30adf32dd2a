#include "support/scripted_broker.h"

#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <stdexcept>
#include <vector>

#include <arpa/inet.h>
#include <netinet/in.h>
#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

namespace limegate::test {
namespace {

using Bytes = std::vector<std::uint8_t>;

constexpr int kPatienceMs = 20;

// The kinds of packets, as the high half of their first byte.
constexpr int kConnect = 1;
constexpr int kPublish = 3;
constexpr int kSubscribe = 8;
constexpr int kPing = 12;

bool readable(int socket) {
  pollfd waiting{socket, POLLIN, 0};
  return ::poll(&waiting, 1, kPatienceMs) == 1;
}

/// Waits for all of them; fewer come back at the stream's end.
Bytes read_bytes(int from, std::size_t count) {
  Bytes bytes(count);
  const ssize_t got = ::recv(from, bytes.data(), count, MSG_WAITALL);
  bytes.resize(got < 0 ? 0 : static_cast<std::size_t>(got));
  return bytes;
}

bool send_bytes(int to, const Bytes& bytes) {
  return ::send(to, bytes.data(), bytes.size(), MSG_NOSIGNAL) == static_cast<ssize_t>(bytes.size());
}

/// The length that follows a packet's first byte: seven bits a byte, the lowest first.
std::size_t read_length(int from) {
  std::size_t length = 0;
  for (unsigned shift = 0; shift < 28; shift += 7) {
    const Bytes byte = read_bytes(from, 1);
    if (byte.empty()) {
      break;
    }
    length |= std::size_t{byte[0] & 0x7FU} << shift;
    if ((byte[0] & 0x80U) == 0) {
      break;
    }
  }
  return length;
}

}  // namespace

ScriptedBroker::ScriptedBroker() : listener_(::socket(AF_INET, SOCK_STREAM, 0)), port_(0) {
  sockaddr_in address{};
  address.sin_family = AF_INET;
  address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  // That is how sockets are addressed.
  auto* const any = reinterpret_cast<sockaddr*>(&address);
  socklen_t size = sizeof(address);
  if (::bind(listener_, any, size) != 0 || ::listen(listener_, 5) != 0 ||
      ::getsockname(listener_, any, &size) != 0) {
    throw std::runtime_error("the scripted broker can't listen");
  }
  port_ = ntohs(address.sin_port);
  thread_ = std::thread{[this] { run(); }};
}

ScriptedBroker::~ScriptedBroker() {
  stopping_ = true;
  thread_.join();
  ::close(listener_);
}

void ScriptedBroker::run() {
  while (!stopping_) {
    if (readable(listener_)) {
      const int client = ::accept(listener_, nullptr, nullptr);
      serve(client);
      ::close(client);
    }
  }
}

void ScriptedBroker::serve(int client) {
  while (!stopping_) {
    if (const int reason = ending_.exchange(-1); reason >= 0) {
      (void)send_bytes(client, {0xE0, 1, static_cast<std::uint8_t>(reason)});
      return;
    }
    if (readable(client) && !answer_one(client)) {
      return;
    }
  }
}

bool ScriptedBroker::answer_one(int client) {
  const Bytes first = read_bytes(client, 1);
  if (first.empty()) {
    return false;
  }
  const std::size_t length = read_length(client);
  const Bytes rest = read_bytes(client, length);
  if (rest.size() != length) {
    return false;
  }
  switch (first[0] >> 4U) {
    case kConnect:
      ++connections_;
      return send_bytes(client, {0x20, 3, 0, 0, 0});
    case kPublish: {
      // Behind the topic, at our quality of service, stands the number to acknowledge.
      const std::size_t number = 2 + (std::size_t{rest.at(0)} << 8U) + rest.at(1);
      return send_bytes(client, {0x40, 2, rest.at(number), rest.at(number + 1)});
    }
    case kSubscribe:
      ++subscriptions_;
      return true;
    case kPing:
      return send_bytes(client, {0xD0, 0});
    default:
      return true;
  }
}

}  // namespace limegate::test
