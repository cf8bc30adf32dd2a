#pragma once

#include <chrono>
#include <cstddef>
#include <functional>
#include <list>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include <boost/asio/basic_socket_acceptor.hpp>
#include <boost/asio/generic/stream_protocol.hpp>
#include <boost/asio/io_context.hpp>
#include <tl/expected.hpp>

#include "journal/counts.h"
#include "journal/course.h"
#include "journal/happenings.h"
#include "page/doorkeeper.h"
#include "page/keeper.h"
#include "page/request_check.h"
#include "page/settings.h"
#include "station/status.h"

namespace limegate::page {

/// Serves the page and its numbers over HTTP/1.1, and takes commands of who has the owner's token.
/// What may be asked for: request_check.h; by whom something is changed: doorkeeper.h.
/// Bounds: 96 connections, of those 64 that watch; heads of 8 KB, bodies below 10 kB; ten seconds
/// for each request and each answer; 100 requests a second, the others wait for the next; eight
/// readings of the record at once. Who does not read costs itself its connection and nobody else
/// anything: a watcher has one write under way and is then shown the newest state. Threads: the
/// loop thread.
class Server {
 public:
  struct Parts {
    std::function<station::Overview()> overview;
    /// What the owner's file comes to, station by station, in a person's words: its name, its text.
    std::map<std::string, std::string> settings;
    Obey command;
    /// Read a part of the record, and reply in the loop, once.
    template <class Asked, class Part>
    using Reading = std::function<void(const Asked& asked,
                                       std::function<void(const journal::Stored<Part>&)> reply)>;
    Reading<journal::CourseAsked, journal::Course> history;
    Reading<journal::HappeningsAsked, journal::Happenings> events;
    std::function<void(std::function<void(const journal::Stored<journal::Counts>&)>)> counts;
  };
  static constexpr std::size_t kConnectionsMax = 96;
  static constexpr std::size_t kWatchersMax = 64;
  static constexpr int kRequestsASecond = 100;
  static constexpr int kReadingsMax = 8;

  /// `token` as it was read from where the settings say; empty: nobody may change anything.
  Server(boost::asio::io_context& loop, Settings settings, std::string token, Parts parts);
  ~Server();
  Server(const Server&) = delete;
  Server& operator=(const Server&) = delete;
  Server(Server&&) = delete;
  Server& operator=(Server&&) = delete;

  /// Opens the port or the socket. Error: one sentence; it may be tried again.
  [[nodiscard]] tl::expected<void, std::string> listen();
  [[nodiscard]] bool is_open() const { return acceptor_.is_open(); }
  /// The one in use: another than in the settings where those say 0.
  [[nodiscard]] int port() const;

  /// With each step: what watchers are shown, once a second by the real clock.
  void tick();

 private:
  class Connection;
  using Stream = boost::asio::generic::stream_protocol;  ///< TCP or a Unix socket
  void accept();
  [[nodiscard]] std::size_t watchers() const;
  /// The state as it is sent to all who watch, made once for all of them.
  [[nodiscard]] std::shared_ptr<const std::string> state();

  boost::asio::io_context& loop_;
  Settings settings_;
  Parts parts_;
  std::string token_;
  std::vector<std::string> names_;
  std::optional<Doorkeeper> doorkeeper_;  ///< once the port is known
  boost::asio::basic_socket_acceptor<Stream> acceptor_;
  bool accepting_ = false;
  int requests_left_ = kRequestsASecond;  ///< in this second
  /// Parts of the record that are being read, also for those who left meanwhile.
  std::shared_ptr<int> readings_ = std::make_shared<int>(0);
  std::chrono::steady_clock::time_point next_frame_;
  std::list<std::shared_ptr<Connection>> connections_;
};

/// "http://127.0.0.1:8377/", or the socket's path.
[[nodiscard]] std::string address_of(const Settings& settings);
/// Why nothing can be served there just now, in a sentence; empty: it can.
[[nodiscard]] std::string objection_to(const Settings& settings);

}  // namespace limegate::page
