#include "app/outlet_lock.h"

#include <algorithm>
#include <cerrno>
#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <set>
#include <system_error>
#include <utility>
#include <vector>

#include <fmt/format.h>
#include <netdb.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

#include "app/log.h"
#include "config/outlets.h"

namespace limegate::app {
namespace {

/// The names under which a TCP host can be meant: as written, and each address it has now.
std::set<std::string> names_of_host(const std::string& host) {
  std::set<std::string> names{host};
  addrinfo hints{};
  hints.ai_socktype = SOCK_STREAM;
  addrinfo* found = nullptr;
  if (getaddrinfo(host.c_str(), nullptr, &hints, &found) != 0) {
    return names;
  }
  for (const addrinfo* one = found; one != nullptr; one = one->ai_next) {
    std::string text(NI_MAXHOST, '\0');
    if (getnameinfo(one->ai_addr, one->ai_addrlen, text.data(), static_cast<socklen_t>(text.size()),
                    nullptr, 0, NI_NUMERICHOST) == 0) {
      names.insert(text.c_str());
    }
  }
  freeaddrinfo(found);
  return names;
}

std::set<std::string> endpoints_of(const modbus::BusSettings& bus) {
  if (const auto* serial = std::get_if<modbus::SerialPort>(&bus.port)) {
    std::error_code ignored;
    const auto real = std::filesystem::weakly_canonical(serial->path, ignored);
    return {ignored ? serial->path : real.string()};
  }
  const auto& tcp = std::get<modbus::TcpPort>(bus.port);
  std::set<std::string> endpoints;
  for (const std::string& name : names_of_host(tcp.host)) {
    endpoints.insert(fmt::format("{} port {}", name, tcp.tcp_port));
  }
  return endpoints;
}

/// FNV-1a of 64 bits: a path may be longer than a socket's name.
/// Source: draft-eastlake-fnv, the parameters of the 64-bit hash.
std::string short_name(const std::string& text) {
  std::uint64_t hash = 14695981039346656037U;
  for (const char c : text) {
    hash = (hash ^ static_cast<unsigned char>(c)) * 1099511628211U;
  }
  return fmt::format("limegate-outlet-{:016x}", hash);
}

struct Bound {
  int socket = -1;
  int error = 0;
};

/// A name in the kernel's abstract namespace: no file, and gone with the process.
class AbstractName {
 public:
  explicit AbstractName(const std::string& name)
      : socket_(::socket(AF_UNIX, SOCK_DGRAM | SOCK_CLOEXEC, 0)) {
    address_.sun_family = AF_UNIX;
    name.copy(&address_.sun_path[1], sizeof(address_.sun_path) - 1);
    length_ = static_cast<socklen_t>(offsetof(sockaddr_un, sun_path) + 1 + name.size());
  }
  ~AbstractName() {
    if (socket_ >= 0) {
      ::close(socket_);
    }
  }
  AbstractName(const AbstractName&) = delete;
  AbstractName& operator=(const AbstractName&) = delete;
  AbstractName(AbstractName&&) = delete;
  AbstractName& operator=(AbstractName&&) = delete;

  /// Zero, or the error.
  [[nodiscard]] int bind() const { return ::bind(socket_, any(), length_) == 0 ? 0 : errno; }
  [[nodiscard]] bool is_bound_elsewhere() const { return ::connect(socket_, any(), length_) == 0; }
  /// The socket, which holds the name, is the caller's from now on.
  [[nodiscard]] int release() { return std::exchange(socket_, -1); }

 private:
  [[nodiscard]] const sockaddr* any() const {
    const void* const address = &address_;
    return static_cast<const sockaddr*>(address);
  }
  int socket_;
  sockaddr_un address_{};
  socklen_t length_ = 0;
};

/// One outlet, under one of the names of its endpoint.
struct Place {
  std::string station;
  const char* what;
  std::string text;  ///< for people
};

std::vector<Place> places_of(const config::Config& config) {
  std::vector<Place> places;
  for (const config::Outlet& outlet : config::outlets_of(config)) {
    for (const std::string& endpoint : endpoints_of(config.buses[outlet.wiring->bus])) {
      places.push_back({outlet.station->settings.name, outlet.what,
                        config::switch_point_of(endpoint, *outlet.wiring)});
    }
  }
  return places;
}

}  // namespace

bool OutletLock::held_by_another(const config::Config& config) {
  const std::vector<Place> places = places_of(config);
  return std::any_of(places.begin(), places.end(), [](const Place& place) {
    return AbstractName{short_name(place.text)}.is_bound_elsewhere();
  });
}

tl::expected<OutletLock, std::string> OutletLock::take(const config::Config& config) {
  OutletLock lock;
  for (const Place& place : places_of(config)) {
    AbstractName name{short_name(place.text)};
    const int error = name.bind();
    if (error == 0) {
      lock.held_.push_back(name.release());
    } else if (error == EADDRINUSE) {
      return tl::unexpected(fmt::format(
          "another limegate on this machine switches the {} of station {} ({}). Nothing was "
          "switched. Stop the other one first: one outlet has one daemon",
          place.what, place.station, place.text));
    } else {
      log_warning(fmt::format("No lock could be had on {}: {}.", place.text,
                              std::generic_category().message(error)));
    }
  }
  return lock;
}

OutletLock::~OutletLock() {
  for (const int held : held_) {
    ::close(held);
  }
}

OutletLock::OutletLock(OutletLock&& other) noexcept : held_(std::exchange(other.held_, {})) {}

}  // namespace limegate::app
