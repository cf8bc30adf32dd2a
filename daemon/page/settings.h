#pragma once

#include <string>

#include "files/secret.h"

namespace limegate::page {

/// Where the page is served, and under which name it may be asked for.
struct Settings {
  std::string address = "127.0.0.1";  ///< IPv4 or IPv6, of one interface or of all
  int port = 8377;
  std::string socket;  ///< the path of a Unix socket, in place of address and port; empty: none
  /// "HOST:PORT" or "HOST", byte for byte as a browser sends it, beside those of loopback and the
  /// address: whoever asks for another name was led here by a foreign page. Empty: none.
  std::string host;
  /// "https://reef.lan", byte for byte as a browser sends it: a proxy of the owner's serves the
  /// page there. Empty: none.
  std::string https_origin;
  /// Who has this token may change something. Nowhere: nobody.
  files::SecretPlace token;
};

/// All of this machine's addresses.
[[nodiscard]] inline bool is_any(const std::string& address) {
  return address == "0.0.0.0" || address == "::";
}
/// As it stands in a URL: an IPv6 address in brackets.
[[nodiscard]] inline std::string host_of(const std::string& address) {
  return address.find(':') != std::string::npos ? "[" + address + "]" : address;
}
/// "127.0.0.1:8377" or "[::1]:8377", or the socket's path.
[[nodiscard]] inline std::string place_of(const Settings& settings) {
  if (!settings.socket.empty()) {
    return settings.socket;
  }
  return host_of(settings.address) + ":" + std::to_string(settings.port);
}

}  // namespace limegate::page
