#pragma once

#include <chrono>
#include <cstddef>
#include <functional>
#include <list>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include <boost/asio/io_context.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <tl/expected.hpp>

#include "journal/course.h"
#include "page/request_check.h"
#include "page/settings.h"
#include "station/status.h"

namespace limegate::page {

/// Serves the page and its numbers over HTTP/1.1, to read only. What may be asked for, and by
/// whom: request_check.h.
/// Bounds: 64 connections, of those 32 that watch; heads of 8 KB; ten seconds for each request and
/// each answer; 100 requests a second, the others wait for the next. Who does not read costs itself
/// its connection and nobody else anything: a watcher has one write under way and is then shown the
/// newest state. Threads: the loop thread.
class Server {
 public:
  struct Parts {
    std::function<station::Overview()> overview;
    /// Reads a part of the record, and replies in the loop, once.
    using Course = journal::Stored<journal::Course>;
    std::function<void(const journal::CourseAsked& asked, std::function<void(const Course&)> reply)>
        history;
  };
  static constexpr std::size_t kConnectionsMax = 64;
  static constexpr std::size_t kWatchersMax = 32;
  static constexpr int kRequestsASecond = 100;

  Server(boost::asio::io_context& loop, Settings settings, Parts parts);
  ~Server();
  Server(const Server&) = delete;
  Server& operator=(const Server&) = delete;
  Server(Server&&) = delete;
  Server& operator=(Server&&) = delete;

  /// Opens the port. Error: one sentence; it may be tried again.
  [[nodiscard]] tl::expected<void, std::string> listen();
  [[nodiscard]] bool is_open() const { return acceptor_.is_open(); }
  /// The one in use: another than in the settings where those say 0.
  [[nodiscard]] int port() const;

  /// With each step: what watchers are shown, once a second by the real clock.
  void tick();

 private:
  class Connection;
  void accept();
  [[nodiscard]] std::size_t watchers() const;
  /// The state as it is sent to all who watch, made once for all of them.
  [[nodiscard]] std::shared_ptr<const std::string> state();

  boost::asio::io_context& loop_;
  Settings settings_;
  Parts parts_;
  std::vector<std::string> names_;
  boost::asio::ip::tcp::acceptor acceptor_;
  bool accepting_ = false;
  int requests_left_ = kRequestsASecond;  ///< in this second
  std::chrono::steady_clock::time_point next_frame_;
  std::list<std::shared_ptr<Connection>> connections_;
};

/// "http://127.0.0.1:8377/"
[[nodiscard]] std::string address_of(const Settings& settings);
/// Why nothing can be served there just now, in a sentence; empty: it can.
[[nodiscard]] std::string objection_to(const Settings& settings);

}  // namespace limegate::page
