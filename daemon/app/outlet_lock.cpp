#include "app/outlet_lock.h"

#include <cerrno>
#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <set>
#include <system_error>
#include <utility>

#include <fmt/format.h>
#include <netdb.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

#include "app/log.h"

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

/// Binds a name in the kernel's abstract namespace: no file, and gone with the process.
Bound bind_name(const std::string& name) {
  const int held = ::socket(AF_UNIX, SOCK_DGRAM | SOCK_CLOEXEC, 0);
  if (held < 0) {
    return {-1, errno};
  }
  sockaddr_un address{};
  address.sun_family = AF_UNIX;
  name.copy(&address.sun_path[1], sizeof(address.sun_path) - 1);
  const auto length = static_cast<socklen_t>(offsetof(sockaddr_un, sun_path) + 1 + name.size());
  const void* const any = &address;
  if (::bind(held, static_cast<const sockaddr*>(any), length) != 0) {
    const int error = errno;
    ::close(held);
    return {-1, error};
  }
  return {held, 0};
}

}  // namespace

tl::expected<OutletLock, std::string> OutletLock::take(const config::Config& config) {
  OutletLock lock;
  for (const config::Station& station : config.stations) {
    if (!station.wiring) {
      continue;
    }
    std::vector<std::pair<const config::OutletWiring*, const char*>> outlets{
        {&station.wiring->pump, "pump"}};
    if (station.wiring->stirrer_outlet) {
      outlets.emplace_back(&*station.wiring->stirrer_outlet, "stirrer");
    }
    for (const auto& [wiring, what] : outlets) {
      for (const std::string& endpoint : endpoints_of(config.buses[wiring->bus])) {
        const modbus::OutletSettings& outlet = wiring->outlet;
        const std::string place =
            fmt::format("{}, unit {}, {} {}", endpoint, outlet.unit,
                        outlet.control.table == modbus::Table::coil ? "coil" : "register",
                        outlet.control.address);
        const Bound bound = bind_name(short_name(place));
        if (bound.socket >= 0) {
          lock.held_.push_back(bound.socket);
        } else if (bound.error == EADDRINUSE) {
          return tl::unexpected(fmt::format(
              "another limegate on this machine switches the {} of station {} ({}). Nothing was "
              "switched. Stop the other one first: one outlet has one daemon",
              what, station.settings.name, place));
        } else {
          log_warning(fmt::format("No lock could be had on {}: {}.", place,
                                  std::generic_category().message(bound.error)));
        }
      }
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
