#include <cerrno>
#include <cstdint>
#include <system_error>

#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/local/stream_protocol.hpp>
#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

#include "page/server.h"
#include "page/tcp_of.h"

namespace limegate::page {
namespace {

namespace asio = boost::asio;
using asio::ip::tcp;
using boost::system::error_code;

/// Why no socket may be begun there, in half a sentence; empty: it may.
std::string objection_to_socket(const std::string& path) {
  struct stat what {};
  if (::lstat(path.c_str(), &what) == 0) {
    return S_ISSOCK(what.st_mode) ? "" : "what is there is no socket";
  }
  const std::string folder = path.substr(0, path.rfind('/') + 1);
  return ::access(folder.c_str(), W_OK) == 0 ? "" : std::generic_category().message(errno);
}

std::string not_served(const Settings& settings, const std::string& why) {
  return fmt::format("The page can't be served at {}: {}.", place_of(settings), why);
}

}  // namespace

tl::expected<void, std::string> Server::listen() {
  error_code error;
  const auto step = [&](auto&& action) {
    if (!error) {
      action();
    }
  };
  if (settings_.socket.empty()) {
    const tcp::endpoint place{asio::ip::make_address(settings_.address, error),
                              static_cast<std::uint16_t>(settings_.port)};
    step([&] { acceptor_.open(place.protocol(), error); });
    step([&] { acceptor_.set_option(asio::socket_base::reuse_address{true}, error); });
    step([&] { acceptor_.bind(place, error); });
  } else {
    if (const std::string why = objection_to_socket(settings_.socket); !why.empty()) {
      return tl::unexpected(not_served(settings_, why));
    }
    (void)::unlink(settings_.socket.c_str());  // what a former run left
    const asio::local::stream_protocol::endpoint place{settings_.socket};
    acceptor_.open(place.protocol(), error);
    // For the service's group; nobody else may enter between bind and chmod.
    const mode_t before = ::umask(0117);
    step([&] { acceptor_.bind(place, error); });
    (void)::umask(before);
  }
  step([&] { acceptor_.listen(asio::socket_base::max_listen_connections, error); });
  if (error) {
    error_code ignored;
    acceptor_.close(ignored);
    return tl::unexpected(not_served(settings_, error.message()));
  }
  if (const auto place = tcp_of(acceptor_.local_endpoint())) {
    settings_.port = place->port();
  }
  names_ = names_of(settings_);
  doorkeeper_.emplace(settings_, token_);
  accept();
  return {};
}

std::string address_of(const Settings& settings) {
  return settings.socket.empty() ? fmt::format("http://{}/", place_of(settings)) : settings.socket;
}

std::string objection_to(const Settings& settings) {
  if (!settings.socket.empty()) {
    const std::string why = objection_to_socket(settings.socket);  // a daemon may sit there
    return why.empty() ? std::string{} : not_served(settings, why);
  }
  asio::io_context loop{1};
  const auto open = Server{loop, settings, {}, {}}.listen();
  return open ? std::string{} : open.error();
}

}  // namespace limegate::page
