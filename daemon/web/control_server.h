#pragma once

#include <chrono>
#include <cstdint>
#include <functional>
#include <list>
#include <memory>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include <boost/asio/io_context.hpp>
#include <boost/asio/local/stream_protocol.hpp>
#include <sys/types.h>
#include <tl/expected.hpp>

#include "alerts/command.h"
#include "station/status.h"

namespace limegate::web {

/// The keeper's door: a Unix socket whose file permissions say who may use it. Each line is a
/// JSON-RPC 2.0 request (request.h); each answer is a line.
/// Bounds: eight clients, lines of 4 KB, an answer outstanding for at most ten seconds, a minute of
/// silence. A client that does not read costs itself its connection and nobody else anything.
/// Threads: the loop thread.
class ControlServer {
 public:
  struct Parts {
    std::function<station::Answer(const std::string& station, const alerts::Asked& command,
                                  const std::string& who)>
        command;
    std::function<station::Overview()> overview;
    std::function<std::string(const station::Overview&)> view;  ///< the same for people
    /// `events` = CloudEvents in JSON, oldest first; `unseen` = the numbers of alerts that stand
    /// and that nobody has seen; `standing` = how many stand, seen or not.
    struct Messages {
      std::vector<std::string> events, unseen;
      std::size_t standing = 0;
    };
    std::function<Messages(const std::string& after)> messages;
    /// Entries of the keeper's book after a number, by number, and which of them are on the disk.
    /// Error: there is no such station; one sentence.
    struct Entry {
      station::BookEntry entry;
      bool durable;
    };
    std::function<tl::expected<std::vector<Entry>, std::string>(const std::string& station,
                                                                std::int64_t after)>
        book;
    std::function<std::string()> test_alert;           ///< the id of the message
    std::function<void(const station::Event&)> found;  ///< by limegate-deliver; without its time
  };

  ControlServer(boost::asio::io_context& loop, Parts parts);
  ~ControlServer();
  ControlServer(const ControlServer&) = delete;
  ControlServer& operator=(const ControlServer&) = delete;
  ControlServer(ControlServer&&) = delete;
  ControlServer& operator=(ControlServer&&) = delete;

  /// Opens the socket at `path`, for owner and group. A file left behind by an earlier run is
  /// replaced: call this only while holding the state directory. Error: one sentence.
  [[nodiscard]] tl::expected<void, std::string> listen(const std::string& path);
  /// Whether somebody who comes finds it: it was opened, and its file is still there.
  [[nodiscard]] bool is_open() const;

  /// With each step: what watchers are shown, and who was silent for too long.
  void tick();

 private:
  class Client;
  void accept();
  [[nodiscard]] bool make_room();

  boost::asio::io_context& loop_;
  Parts parts_;
  boost::asio::local::stream_protocol::acceptor acceptor_;
  std::string path_;
  /// What stands at the path: ours, or what somebody put in its place.
  using File = std::pair<dev_t, ino_t>;
  [[nodiscard]] static std::optional<File> file_at(const std::string& path);
  std::optional<File> file_;
  std::chrono::steady_clock::time_point next_frame_;
  std::list<std::shared_ptr<Client>> clients_;
};

}  // namespace limegate::web
