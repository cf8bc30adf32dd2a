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

/// Whether it is this machine's own. One socket of [::] takes IPv4 too, under an address of its own
/// (RFC 4291, section 2.5.5.2).
[[nodiscard]] inline bool is_loopback(
    const boost::asio::generic::stream_protocol::endpoint& place) {
  namespace ip = boost::asio::ip;
  const auto tcp = tcp_of(place);
  if (!tcp) {
    return false;
  }
  const ip::address address = tcp->address();
  return address.is_v6() && address.to_v6().is_v4_mapped()
             ? ip::make_address_v4(ip::v4_mapped, address.to_v6()).is_loopback()
             : address.is_loopback();
}

}  // namespace limegate::page
