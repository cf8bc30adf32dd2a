#pragma once

#include <cstring>
#include <optional>

#include <boost/asio/generic/stream_protocol.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <sys/socket.h>

namespace limegate::page {

/// Which place of TCP it is. Absent: it is a Unix socket's.
[[nodiscard]] inline std::optional<boost::asio::ip::tcp::endpoint> tcp_of(
    const boost::asio::generic::stream_protocol::endpoint& place) {
  const int family = place.protocol().family();
  if (family != AF_INET && family != AF_INET6) {
    return std::nullopt;
  }
  boost::asio::ip::tcp::endpoint tcp;
  tcp.resize(place.size());
  std::memcpy(tcp.data(), place.data(), place.size());
  return tcp;
}

}  // namespace limegate::page
