#include "web/control_server.h"

#include <algorithm>
#include <array>
#include <chrono>
#include <cstring>
#include <map>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include <boost/asio/buffer.hpp>
#include <boost/asio/read_until.hpp>
#include <boost/asio/write.hpp>
#include <pwd.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/un.h>
#include <unistd.h>

#include "units/iso8601.h"
#include "web/overview_json.h"
#include "web/request.h"

namespace limegate::web {
namespace {

using Socket = boost::asio::local::stream_protocol::socket;
using Error = boost::system::error_code;
using nlohmann::json;

constexpr std::size_t kClientsMax = 8;
constexpr std::size_t kLineMax = 4096;
// By the real clock, whatever pace the daemon's own has.
constexpr auto kAnswerWithin = std::chrono::seconds{10};
constexpr auto kSilentFor = std::chrono::seconds{60};
constexpr auto kFrameEvery = std::chrono::seconds{1};

/// Who is at the other end, by the kernel's word.
std::string peer_of(Socket& socket) {
  ucred peer{};
  socklen_t size = sizeof peer;
  if (::getsockopt(socket.native_handle(), SOL_SOCKET, SO_PEERCRED, &peer, &size) != 0) {
    return "control socket, user unknown";
  }
  std::array<char, 1024> room{};
  passwd entry{};
  passwd* found = nullptr;
  const bool named =
      ::getpwuid_r(peer.uid, &entry, room.data(), room.size(), &found) == 0 && found != nullptr;
  return "control socket, user " + (named ? std::string{entry.pw_name} : std::to_string(peer.uid));
}

/// The status of this station, or of all.
json shown(const ControlServer::Parts& parts, const std::string& station) {
  station::Overview overview = parts.overview();
  std::erase_if(overview.stations, [&](const station::Status& status) {
    return !station.empty() && status.station != station;
  });
  return {{"overview", json_of(overview)}, {"view", parts.view(overview)}};
}

/// So many at once: an answer is one line.
constexpr std::size_t kEntriesAtOnce = 100;

json json_of(const std::vector<ControlServer::Parts::Entry>& entries) {
  json list = json::array();
  for (const auto& [entry, durable] : entries) {
    if (list.size() == kEntriesAtOnce) {
      break;
    }
    list.push_back({{"number", entry.number},
                    {"time", iso8601(entry.row.at)},
                    {"what", entry.row.what},
                    {"value", entry.row.value},
                    {"unit", entry.row.unit},
                    {"kit", entry.row.kit},
                    {"entered", iso8601(entry.entered.wall)},
                    {"undone", entry.undone ? json(iso8601(*entry.undone)) : json(nullptr)},
                    {"written", durable}});
  }
  return {{"entries", std::move(list)}, {"more", entries.size() > kEntriesAtOnce}};
}

}  // namespace

/// One connection: a request is read only after the answer to the one before has been written.
// NOLINTBEGIN(misc-no-recursion): read and write follow each other through the loop, not the stack
class ControlServer::Client : public std::enable_shared_from_this<Client> {
 public:
  Client(Socket socket, const Parts& parts)
      : socket_(std::move(socket)), parts_(parts), who_(peer_of(socket_)) {}

  void read() {
    boost::asio::async_read_until(
        socket_, boost::asio::dynamic_buffer(incoming_, kLineMax), '\n',
        [self = shared_from_this()](const Error& error, std::size_t length) {
          if (error) {
            self->close();
          } else {
            self->take(length);
          }
        });
  }

  /// False once the connection is over.
  [[nodiscard]] bool tick(const std::string* frame) {
    const auto still = std::chrono::steady_clock::now() - moved_;
    if (writing_ ? still > kAnswerWithin : !watching_ && still > kSilentFor) {
      close();
    }
    if (watching_ && !writing_ && frame != nullptr && socket_.is_open()) {
      write(*frame);
    }
    return socket_.is_open();
  }
  [[nodiscard]] bool watching() const { return watching_; }
  /// Whose status it was shown last; empty: of all.
  [[nodiscard]] const std::string& station() const { return station_; }
  [[nodiscard]] bool left() const { return !socket_.is_open(); }
  [[nodiscard]] bool idle() const { return !watching_ && !writing_; }
  void close() {
    Error ignored;
    socket_.close(ignored);
  }

 private:
  void take(std::size_t length) {
    const std::string line = incoming_.substr(0, length);
    incoming_.erase(0, length);
    const auto request = parse_request(line);
    write((request ? answer(*request) : request.error())
              .dump(-1, ' ', false, json::error_handler_t::replace) +
          "\n");
  }

  json answer(const Request& request) {
    if (const auto* status = std::get_if<Request::Status>(&request.what)) {
      watching_ = status->times == Request::Status::Times::each_second;
      station_ = status->station;
      return result_of(request.id, shown(parts_, station_));
    }
    if (const auto* messages = std::get_if<Request::Messages>(&request.what)) {
      const Parts::Messages newest = parts_.messages(messages->after);
      json events = json::array();
      for (const std::string& event : newest.events) {
        events.push_back(json::parse(event, nullptr, false));
      }
      return result_of(request.id, {{"events", std::move(events)},
                                    {"unseen", newest.unseen},
                                    {"standing", newest.standing}});
    }
    if (const auto* book = std::get_if<Request::Book>(&request.what)) {
      const auto entries = parts_.book(book->station, book->after);
      return result_of(request.id, entries
                                       ? json_of(*entries)
                                       : json{{"accepted", false}, {"sentence", entries.error()}});
    }
    if (const auto* found = std::get_if<Request::Found>(&request.what)) {
      parts_.found(found->event);
      return result_of(request.id, {{"taken", true}});
    }
    if (std::holds_alternative<Request::TestAlert>(request.what)) {
      return result_of(request.id, {{"id", parts_.test_alert()}});
    }
    const auto& command = std::get<Request::Command>(request.what);
    const station::Answer answer = parts_.command(command.station, command.what, who_);
    return result_of(request.id,
                     {{"accepted", answer.verdict == station::Answer::Verdict::accepted},
                      {"sentence", answer.sentence}});
  }

  void write(std::string line) {
    writing_ = true;
    moved_ = std::chrono::steady_clock::now();
    outgoing_ = std::move(line);
    boost::asio::async_write(socket_, boost::asio::buffer(outgoing_),
                             [self = shared_from_this()](const Error& error, std::size_t) {
                               self->writing_ = false;
                               self->moved_ = std::chrono::steady_clock::now();
                               if (error) {
                                 self->close();
                               } else if (!self->watching_) {
                                 self->read();
                               }
                             });
  }

  Socket socket_;
  const Parts& parts_;
  std::string who_;
  std::string incoming_;
  std::string outgoing_;
  bool writing_ = false;
  bool watching_ = false;
  std::string station_;
  std::chrono::steady_clock::time_point moved_ = std::chrono::steady_clock::now();
};

// NOLINTEND(misc-no-recursion)

ControlServer::ControlServer(boost::asio::io_context& loop, Parts parts)
    : loop_(loop), parts_(std::move(parts)), acceptor_(loop) {}

ControlServer::~ControlServer() {
  for (const auto& client : clients_) {
    client->close();
  }
  if (is_open()) {
    (void)::unlink(path_.c_str());
  }
}

std::optional<ControlServer::File> ControlServer::file_at(const std::string& path) {
  struct stat what {};
  return ::lstat(path.c_str(), &what) == 0 ? std::optional{File{what.st_dev, what.st_ino}}
                                           : std::nullopt;
}

tl::expected<void, std::string> ControlServer::listen(const std::string& path) {
  if (path.size() >= sizeof(sockaddr_un::sun_path)) {
    return tl::unexpected(std::string{"The control socket's path is too long: "} + path);
  }
  (void)::unlink(path.c_str());
  Error error;
  acceptor_.close(error);
  error.clear();
  const boost::asio::local::stream_protocol::endpoint endpoint{path};
  acceptor_.open(endpoint.protocol(), error);
  // Nobody may enter between bind and chmod.
  const mode_t before = ::umask(0117);
  if (!error) {
    acceptor_.bind(endpoint, error);
  }
  (void)::umask(before);
  if (!error) {
    acceptor_.listen(boost::asio::socket_base::max_listen_connections, error);
  }
  if (error) {
    Error ignored;
    acceptor_.close(ignored);
    return tl::unexpected("The control socket " + path + " can't be opened: " + error.message());
  }
  path_ = path;
  file_ = file_at(path);
  accept();
  return {};
}

bool ControlServer::is_open() const {
  return acceptor_.is_open() && file_ && file_at(path_) == file_;
}

void ControlServer::accept() {
  acceptor_.async_accept([this](const Error& error, Socket socket) {
    if (error == boost::asio::error::operation_aborted) {
      return;
    }
    if (!error && make_room()) {
      clients_.push_back(std::make_shared<Client>(std::move(socket), parts_));
      clients_.back()->read();
    }
    // A full house closes the door in the stranger's face: the socket ends with this scope.
    accept();
  });
}

/// Who has left is free at once, and where all places are taken the oldest guest who neither
/// watches nor is being answered gives way; if there is none, the oldest who watches.
bool ControlServer::make_room() {
  clients_.remove_if([](const auto& client) { return client->left(); });
  if (clients_.size() >= kClientsMax) {
    auto oldest = std::find_if(clients_.begin(), clients_.end(),
                               [](const auto& client) { return client->idle(); });
    if (oldest == clients_.end()) {
      oldest = std::find_if(clients_.begin(), clients_.end(),
                            [](const auto& client) { return client->watching(); });
    }
    if (oldest == clients_.end()) {
      return false;
    }
    (*oldest)->close();
    clients_.erase(oldest);
  }
  return true;
}

void ControlServer::tick() {
  const auto now = std::chrono::steady_clock::now();
  const bool due = now >= next_frame_;
  std::map<std::string, std::string> frames;  // by whose they are
  for (const auto& client : clients_) {
    if (due && client->watching() && frames.count(client->station()) == 0) {
      next_frame_ = now + kFrameEvery - std::chrono::milliseconds{100};
      frames[client->station()] = result_of(nullptr, shown(parts_, client->station()))
                                      .dump(-1, ' ', false, json::error_handler_t::replace) +
                                  "\n";
    }
  }
  clients_.remove_if([&](const auto& client) {
    const auto frame = frames.find(client->station());
    return !client->tick(frame == frames.end() ? nullptr : &frame->second);
  });
}

}  // namespace limegate::web
