#include "support/broker.h"

#include <algorithm>
#include <csignal>
#include <sstream>
#include <stdexcept>
#include <utility>

#include <arpa/inet.h>
#include <netinet/in.h>
#include <sys/socket.h>
#include <unistd.h>

namespace limegate::test {
namespace {

constexpr const char* kBroker = "/usr/sbin/mosquitto";
constexpr const char* kSubscribe = "/usr/bin/mosquitto_sub";
constexpr const char* kPublish = "/usr/bin/mosquitto_pub";
constexpr const char* kLast = "$SYS/broker/version";  // mosquitto keeps it from its start on

sockaddr_in loopback(int port) {
  sockaddr_in address{};
  address.sin_family = AF_INET;
  address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  address.sin_port = htons(static_cast<std::uint16_t>(port));
  return address;
}

/// NOLINTNEXTLINE(cppcoreguidelines-pro-type-reinterpret-cast): that is how sockets are addressed
sockaddr* as_address(sockaddr_in& address) { return reinterpret_cast<sockaddr*>(&address); }

bool listens(int port) {
  const int socket = ::socket(AF_INET, SOCK_STREAM, 0);
  sockaddr_in address = loopback(port);
  const bool connected = ::connect(socket, as_address(address), sizeof(address)) == 0;
  ::close(socket);
  return connected;
}

std::vector<std::string> operator+(std::vector<std::string> a, const std::vector<std::string>& b) {
  a.insert(a.end(), b.begin(), b.end());
  return a;
}

std::vector<std::string> lines_of(const std::string& text) {
  std::vector<std::string> lines;
  std::istringstream stream{text};
  for (std::string line; std::getline(stream, line);) {
    lines.push_back(line);
  }
  return lines;
}

}  // namespace

int free_port() {
  const int socket = ::socket(AF_INET, SOCK_STREAM, 0);
  sockaddr_in address = loopback(0);
  socklen_t size = sizeof(address);
  if (::bind(socket, as_address(address), size) != 0 ||
      ::getsockname(socket, as_address(address), &size) != 0) {
    throw std::runtime_error("no free port");
  }
  ::close(socket);
  return ntohs(address.sin_port);
}

Broker::Broker(std::string config, std::vector<std::string> client)
    : port_(free_port()), client_(std::move(client)) {
  write_file(folder_.path() + "/mosquitto.conf",
             "listener " + std::to_string(port_) +
                 " 127.0.0.1\npersistence false\nlog_dest stderr\n" +
                 (::geteuid() == 0 ? "user root\n" : "") + std::move(config));
}

void Broker::start() {
  program_ = std::make_unique<Program>(
      std::vector<std::string>{kBroker, "-c", folder_.path() + "/mosquitto.conf"},
      folder_.path() + "/log");
  if (!wait_until([this] { return listens(port_); })) {
    throw std::runtime_error("mosquitto does not start: " + log());
  }
}

void Broker::kill() { program_.reset(); }

std::vector<std::string> Broker::reach() const {
  return std::vector<std::string>{"-h", "localhost", "-p", std::to_string(port_), "-V", "5"} +
         client_;
}

std::map<std::string, std::string> Broker::kept(const std::string& filter) const {
  const TempDir folder;
  Program watcher{
      std::vector<std::string>{kSubscribe} + reach() +
          std::vector<std::string>{"-t", filter, "-t", kLast, "--retained-only", "-F", "%t %p"},
      folder.path() + "/output"};
  // The broker serves the filters of one subscription in their order.
  (void)wait_until([&] {
    return watcher.wait(std::chrono::milliseconds{0}).has_value() ||
           contains(watcher.output(), std::string{kLast} + " ");
  });
  std::map<std::string, std::string> kept;
  for (const std::string& line : lines_of(watcher.output())) {
    const std::size_t space = line.find(' ');
    const std::string topic = line.substr(0, space);
    if (topic.find('/') != std::string::npos && topic != kLast) {  // else its own words
      kept[line.substr(0, space)] = space == std::string::npos ? "" : line.substr(space + 1);
    }
  }
  return kept;
}

void Broker::publish(const std::string& topic, const std::string& payload,
                     const std::vector<std::string>& more) const {
  const auto ran =
      run_program(std::vector<std::string>{kPublish} + reach() +
                  std::vector<std::string>{"-t", topic, "-m", payload, "-q", "1"} + more);
  if (ran.code != 0) {
    throw std::runtime_error("mosquitto_pub: " + ran.output);
  }
}

Subscriber::Subscriber(const Broker& broker, const std::string& filter)
    : program_(std::vector<std::string>{kSubscribe} + broker.reach() +
                   std::vector<std::string>{"-t", filter, "-q", "1", "-F", "%r %t %p", "-t",
                                            "test/started"},
               folder_.path() + "/output") {
  const bool started = wait_until([&] {
    broker.publish("test/started", "yes");
    return heard("test/started yes");
  });
  if (!started) {
    throw std::runtime_error("mosquitto_sub hears nothing: " + program_.output());
  }
}

std::vector<std::string> Subscriber::lines() const { return lines_of(program_.output()); }

bool Subscriber::heard(const std::string& part) const { return contains(program_.output(), part); }

}  // namespace limegate::test
