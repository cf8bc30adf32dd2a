#include "web/control_client.h"

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstring>
#include <system_error>
#include <utility>

#include <sys/socket.h>
#include <sys/time.h>
#include <sys/un.h>
#include <unistd.h>

namespace limegate::web {
namespace {

using nlohmann::json;

/// The daemon answers within a step; more than this means that it hangs.
constexpr std::chrono::seconds kAnswerWithin{10};
constexpr std::size_t kAnswerMax = 4 << 20;

tl::unexpected<ControlClient::Failure> failed(ControlClient::Fault fault, std::string sentence) {
  return tl::unexpected(ControlClient::Failure{fault, std::move(sentence)});
}

}  // namespace

ControlClient::Result<ControlClient> ControlClient::connect(const std::string& path,
                                                            std::optional<Deadline> by) {
  sockaddr_un address{};
  address.sun_family = AF_UNIX;
  if (path.size() >= sizeof address.sun_path) {
    return failed(Fault::nobody_there, path + " is too long for a socket's path");
  }
  std::memcpy(address.sun_path, path.c_str(), path.size());
  const int socket = ::socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0);
  if (socket < 0) {
    return failed(Fault::broken, std::generic_category().message(errno));
  }
  ControlClient client{socket};
  client.by_ = by;
  client.limit_wait(SO_SNDTIMEO);  // a daemon that hangs lets nobody in once its queue is full
  // The cast is how the sockets interface takes its many kinds of addresses.
  const auto* generic = reinterpret_cast<const sockaddr*>(&address);
  if (::connect(socket, generic, sizeof address) != 0) {
    const int error = errno;
    // Its queue is full and it lets nobody in: it is there, and hangs.
    const Fault fault = error == EACCES || error == EPERM         ? Fault::forbidden
                        : error == EAGAIN || error == EINPROGRESS ? Fault::broken
                                                                  : Fault::nobody_there;
    return failed(fault, path + ": " + std::generic_category().message(error));
  }
  return client;
}

ControlClient::~ControlClient() {
  if (socket_ >= 0) {
    ::close(socket_);
  }
}

ControlClient::ControlClient(ControlClient&& other) noexcept
    : socket_(std::exchange(other.socket_, -1)),
      by_(other.by_),
      incoming_(std::move(other.incoming_)) {}

/// Before each wait, so that a daemon that trickles its answer gains nothing.
void ControlClient::limit_wait(int direction) const {
  using std::chrono::microseconds;
  const auto left = by_ ? *by_ - std::chrono::steady_clock::now() : kAnswerWithin;
  // Zero would be no limit at all.
  const auto us = std::max(std::chrono::duration_cast<microseconds>(left), microseconds{1}).count();
  const timeval wait{us / 1'000'000, us % 1'000'000};
  (void)::setsockopt(socket_, SOL_SOCKET, direction, &wait, sizeof wait);
}

ControlClient::Result<json> ControlClient::ask(const std::string& method, const json& params) {
  const std::string line =
      json{{"jsonrpc", "2.0"}, {"id", 1}, {"method", method}, {"params", params}}.dump() + "\n";
  for (std::size_t sent = 0; sent < line.size();) {
    limit_wait(SO_SNDTIMEO);
    const ssize_t count = ::send(socket_, line.data() + sent, line.size() - sent, MSG_NOSIGNAL);
    if (count <= 0) {
      return failed(Fault::broken, "the daemon closed the connection");
    }
    sent += static_cast<std::size_t>(count);
  }
  return next();
}

ControlClient::Result<json> ControlClient::next() {
  std::size_t end = std::string::npos;
  while ((end = incoming_.find('\n')) == std::string::npos) {
    if (incoming_.size() > kAnswerMax || (by_ && std::chrono::steady_clock::now() >= *by_)) {
      return failed(Fault::broken, "the daemon did not answer in time");
    }
    std::array<char, 4096> room{};
    limit_wait(SO_RCVTIMEO);
    const ssize_t count = ::recv(socket_, room.data(), room.size(), 0);
    if (count <= 0) {
      return failed(Fault::broken, count == 0 ? "the daemon closed the connection"
                                              : "the daemon did not answer in time");
    }
    incoming_.append(room.data(), static_cast<std::size_t>(count));
  }
  const json answer = json::parse(incoming_.substr(0, end), nullptr, false);
  incoming_.erase(0, end + 1);
  if (!answer.is_object()) {
    return failed(Fault::broken, "the daemon's answer is not JSON");
  }
  if (answer.contains("error")) {
    return failed(Fault::broken, answer["error"].value("message", std::string{"unknown error"}));
  }
  return answer.value("result", json::object());
}

}  // namespace limegate::web
