#include "config/page_reader.h"

#include <array>
#include <optional>
#include <string_view>

#include <arpa/inet.h>
#include <sys/un.h>

#include "config/port.h"
#include "config/secret_reader.h"

namespace limegate::config {
namespace {

/// As a Host header may have it: a name or an address, and a port.
bool is_host(std::string_view text) {
  return !text.empty() && text.size() <= 255 &&
         text.find_first_not_of("abcdefghijklmnopqrstuvwxyz0123456789.-:[]") ==
             std::string_view::npos;
}

/// As an Origin header has it (RFC 6454).
bool is_https_origin(std::string_view text) {
  constexpr std::string_view https = "https://";
  return text.starts_with(https) && is_host(text.substr(https.size()));
}

bool is_address(int family, const std::string& text) {
  std::array<unsigned char, sizeof(in6_addr)> room{};
  return inet_pton(family, text.c_str(), room.data()) == 1;
}

/// "127.0.0.1:8377", "[::1]:8377", or the path of a Unix socket.
std::optional<page::Settings> place_of(std::string_view text) {
  if (text.starts_with('/')) {
    page::Settings place;
    place.socket = std::string{text};
    return text.size() < sizeof(sockaddr_un::sun_path) && !text.ends_with('/')
               ? std::optional{place}
               : std::nullopt;
  }
  const std::size_t colon = text.rfind(':');
  if (colon == std::string_view::npos) {
    return std::nullopt;
  }
  page::Settings place;
  std::string_view address = text.substr(0, colon);
  const bool six = address.size() > 2 && address.front() == '[' && address.back() == ']';
  if (six) {
    address = address.substr(1, address.size() - 2);
  }
  place.address = std::string{address};
  const auto port = read_port(text.substr(colon + 1));
  place.port = port.value_or(0);
  return port && is_address(six ? AF_INET6 : AF_INET, place.address) ? std::optional{place}
                                                                     : std::nullopt;
}

bool is_loopback(const std::string& address) {
  return address.rfind("127.", 0) == 0 || address == "::1";
}

}  // namespace

page::Settings read_page(TableReader& reader) {
  const std::string listen = reader.text("listen", "127.0.0.1:8377");
  const auto place = place_of(listen);
  if (!place) {
    reader.complain("listen",
                    "must be an address of this machine and a port: \"127.0.0.1:8377\", or "
                    "\"[::1]:8377\"; or the path of a Unix socket for a proxy: "
                    "\"/run/limegate/page\", of 107 characters at most");
  }
  page::Settings settings = place.value_or(page::Settings{});
  const auto readers =
      reader.choice<bool>("readers", {{"this-machine", false}, {"the-house", true}});
  if (settings.socket.empty() && !is_loopback(settings.address) && !readers) {
    reader.complain("readers",
                    "must be \"the-house\" where the page listens beyond loopback: everybody in "
                    "that network may then read it, in clear text. Nothing can be changed there "
                    "without the token");
  }
  const auto host = reader.maybe_text("host");
  settings.host = host.value_or("");
  if (settings.socket.empty() && !host && page::is_any(settings.address)) {
    reader.complain("host",
                    "is missing: where the page listens on all addresses, it must be told the one "
                    "name or address by which browsers ask for it: \"192.168.1.20:8377\"");
  }
  if (host && !is_host(settings.host)) {
    reader.complain("host",
                    "is a name as a browser asks for it, in small letters, with the port unless it "
                    "is that of http or https: \"reef.lan:8377\"");
  }
  settings.https_origin = reader.maybe_text("https_origin").value_or("");
  if (!settings.https_origin.empty() && !is_https_origin(settings.https_origin)) {
    reader.complain("https_origin",
                    "is what a browser shows before the path, in small letters: "
                    "\"https://reef.lan\", with a port unless it is 443");
  }
  settings.token = read_secret(reader, "token_file", "token_credential");
  reader.finish();
  return settings;
}

}  // namespace limegate::config
