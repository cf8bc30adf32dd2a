#include "page/server.h"

#include <algorithm>
#include <functional>
#include <utility>

#include <boost/asio/write.hpp>
#include <boost/beast/core/basic_stream.hpp>
#include <boost/beast/core/flat_buffer.hpp>
#include <boost/beast/http/parser.hpp>
#include <boost/beast/http/read.hpp>
#include <boost/beast/http/string_body.hpp>
#include <boost/beast/http/write.hpp>
#include <nlohmann/json.hpp>

#include "page/answers.h"
#include "page/keeper.h"
#include "page/metrics.h"
#include "page/patience.h"
#include "page/tcp_of.h"

namespace limegate::page {
namespace {

namespace asio = boost::asio;
namespace beast = boost::beast;
namespace http = boost::beast::http;
using beast::error_code;
using Text = std::shared_ptr<const std::string>;

// By the real clock, whatever pace the daemon's own has.
constexpr auto kWithin = std::chrono::seconds{10};
constexpr auto kFrameEvery = std::chrono::seconds{1};
constexpr std::size_t kHeadMax = 8192;
constexpr std::size_t kBufferMax = 16384;
/// What the kernel keeps of what a watcher does not read.
constexpr int kSendBuffer = 16384;

/// HTML Living Standard, server-sent events.
std::string event_of(const std::string& data) { return "event: state\ndata: " + data + "\n\n"; }

}  // namespace

/// One connection: a request is read only after the answer to the one before has been written.
// NOLINTBEGIN(misc-no-recursion): read and write follow each other through the loop, not the stack
class Server::Connection : public std::enable_shared_from_this<Connection> {
 public:
  Connection(Stream::socket socket, Server& server)
      : stream_(std::move(socket)), server_(&server) {}

  void read() {
    parser_.emplace();
    parser_->header_limit(kHeadMax);
    parser_->body_limit(boost::none);  // route_of bounds it, and says so
    stream_.expires_after(kWithin);
    http::async_read_header(
        stream_, buffer_, *parser_,
        [self = shared_from_this()](error_code error, std::size_t) { self->take(error); });
  }

  void show(const Text& state) {
    newest_ = state;
    if (watching_ && !writing_) {
      write_newest();
    }
  }
  void go_on() {
    if (waiting_) {
      answer();
    }
  }
  [[nodiscard]] bool watching() const { return watching_; }
  [[nodiscard]] bool is_open() const { return stream_.socket().is_open(); }
  /// The server goes: nothing of it is asked any more.
  void leave() {
    server_ = nullptr;
    stream_.close();
  }

 private:
  void take(error_code error) {
    if (server_ == nullptr || error == http::error::end_of_stream ||
        error == beast::error::timeout ||
        (error && error.category() != http::make_error_code(http::error::bad_method).category())) {
      return end();
    }
    if (error == http::error::header_limit) {
      return write(answer_of(Problem{431, "Request Header Fields Too Large",
                                     "The head of a request has 8 KB at most."}),
                   After::end);
    }
    if (error) {
      return write(answer_of(Problem{400, "Bad Request", "This is no request of HTTP/1.1."}),
                   After::end);
    }
    answer();
  }

  /// Also a flood leaves the loop to what it is there for.
  void answer() {
    waiting_ = server_->requests_left_ == 0;
    if (waiting_) {
      return;
    }
    --server_->requests_left_;
    const RequestHead& head = parser_->get().base();
    const auto route = route_of(head, server_->names_);
    if (!route) {
      return write(answer_of(route.error()), After::end);
    }
    if (head.method() == http::verb::post && !parser_->is_done()) {
      return read_body();
    }
    const After after = parser_->get().keep_alive() ? After::read : After::end;
    switch ((*route)->what) {
      case Route::What::status:
        return write(answer_of(200, (*route)->type, json_of(server_->parts_.overview())), after);
      case Route::What::settings:
        return write(answer_of(200, (*route)->type, dump(server_->parts_.settings)), after);
      case Route::What::metrics:
        return count(form_of(head[http::field::accept]), after);
      case Route::What::history:
      case Route::What::history_csv:
        return look_back<journal::CourseAsked>(server_->parts_.history, **route, after);
      case Route::What::events:
        return look_back<journal::HappeningsAsked>(server_->parts_.events, **route, after);
      case Route::What::session:
        return write(session_answer(*server_->doorkeeper_, parser_->get(), from_loopback(), now()),
                     after);
      case Route::What::command:
        return write(command_answer(server_->parts_.command, parser_->get(),
                                    server_->doorkeeper_->admit(head, from_loopback(), now())),
                     after);
      case Route::What::stream:
        return watch((*route)->type);
      case Route::What::asset:
        return write(answer_of(**route, head), after);
    }
  }

  /// It is asked for only once its head has passed.
  void read_body() {
    stream_.expires_after(kWithin);
    http::async_read(
        stream_, buffer_, *parser_,
        [self = shared_from_this()](error_code error, std::size_t) { self->take(error); });
  }

  static Doorkeeper::Now now() { return Doorkeeper::Now::clock::now(); }

  [[nodiscard]] bool from_loopback() const {
    error_code error;
    const auto peer = stream_.socket().remote_endpoint(error);
    return !error && is_loopback(peer);
  }

  enum class After { read, end };
  void write(Answer answer, After after) {
    answer.keep_alive(after == After::read);
    answer_ = std::move(answer);
    stream_.expires_after(kWithin);
    http::async_write(stream_, answer_,
                      [self = shared_from_this(), after](error_code error, std::size_t) {
                        if (error || after == After::end) {
                          self->end();
                        } else {
                          self->read();
                        }
                      });
  }

  static std::string body_of(const journal::Course& course, const Route& route) {
    return route.what == Route::What::history_csv ? csv_of(course) : json_of(course);
  }
  static std::string body_of(const journal::Happenings& happenings, const Route& /*only JSON*/) {
    return json_of(happenings);
  }

  template <class Asked, class Part>
  void look_back(const Parts::Reading<Asked, Part>& read, const Route& route, After after) {
    const RequestHead& head = parser_->get().base();
    const station::Overview now = server_->parts_.overview();
    const auto asked = span_asked({head.target().data(), head.target().size()}, now.at.wall);
    if (!asked) {
      return write(answer_of(asked.error()), After::end);
    }
    if (std::none_of(now.stations.begin(), now.stations.end(),
                     [&](const station::Status& one) { return one.station == asked->station; })) {
      return write(answer_of(Problem{404, "Not Found", "There is no station of that name here."}),
                   After::end);
    }
    if (*server_->readings_ >= kReadingsMax) {
      return write(come_back("The record is being read for others, or its disk does not answer. "
                             "Ask again.",
                             "5"),
                   After::end);
    }
    ++*server_->readings_;
    const auto is_first = patience_.first_within(kWithin, [self = shared_from_this()] {
      if (self->server_ != nullptr) {
        self->write(
            come_back("The disk does not answer, so nobody knows what was. Ask again.", "60"),
            After::end);
      }
    });
    read(Asked{asked->station, asked->from, asked->until},
         [self = shared_from_this(), &route, after, is_first,
          readings = server_->readings_](const journal::Stored<Part>& part) {
           --*readings;
           if (!is_first()) {
             return;
           }
           if (!part) {
             return self->write(
                 answer_of(Problem{503, "Service Unavailable",
                                   "The record can't be read: " + part.error().text()}),
                 After::end);
           }
           self->write(answer_of(200, route.type, body_of(*part, route)), after);
         });
  }

  /// Without the counters where the record can't be read, or is read for too many.
  void count(MetricsForm form, After after) {
    const auto reply = [self = shared_from_this(), form, after](const journal::Counts* counts) {
      if (self->server_ != nullptr) {
        self->write(answer_of(200, media_type_of(form),
                              metrics_of(self->server_->parts_.overview(), counts, form)),
                    after);
      }
    };
    if (*server_->readings_ >= kReadingsMax) {
      return reply(nullptr);
    }
    ++*server_->readings_;
    const auto is_first = patience_.first_within(kWithin, [reply] { reply(nullptr); });
    server_->parts_.counts([reply, is_first, readings = server_->readings_](
                               const journal::Stored<journal::Counts>& counts) {
      --*readings;
      if (is_first()) {
        reply(counts ? &*counts : nullptr);
      }
    });
  }

  void watch(std::string_view type) {
    if (server_->watchers() >= kWatchersMax) {
      return write(come_back("As many watch as may. Close the page elsewhere.", "30"), After::end);
    }
    watching_ = true;
    error_code ignored;
    stream_.socket().set_option(asio::socket_base::send_buffer_size{kSendBuffer}, ignored);
    newest_ = server_->state();
    write_text(std::make_shared<const std::string>(stream_head(type) + "retry: 2000\n\n" +
                                                   *std::exchange(newest_, nullptr)));
  }

  void write_newest() {
    if (const Text text = std::exchange(newest_, nullptr)) {
      write_text(text);
    }
  }
  void write_text(const Text& text) {
    writing_ = true;
    stream_.expires_after(kWithin);
    asio::async_write(stream_, asio::buffer(*text),
                      [self = shared_from_this(), text](error_code error, std::size_t) {
                        self->writing_ = false;
                        if (error) {
                          self->end();
                        } else {
                          self->write_newest();
                        }
                      });
  }

  void end() { stream_.close(); }

  beast::basic_stream<Stream> stream_;
  Patience patience_{stream_.get_executor()};
  Server* server_;
  beast::flat_buffer buffer_{kBufferMax};
  std::optional<http::request_parser<http::string_body>> parser_;
  Answer answer_;
  bool watching_ = false, writing_ = false;
  bool waiting_ = false;  ///< for the next second, with a request that was read
  Text newest_;           ///< not yet on its way
};
// NOLINTEND(misc-no-recursion)

Server::Server(asio::io_context& loop, Settings settings, std::string token, Parts parts)
    : loop_(loop),
      settings_(std::move(settings)),
      parts_(std::move(parts)),
      token_(std::move(token)),
      acceptor_(loop),
      next_frame_(std::chrono::steady_clock::now()) {}

Server::~Server() {
  error_code ignored;
  acceptor_.close(ignored);
  for (const auto& connection : connections_) {
    connection->leave();
  }
}

int Server::port() const { return settings_.port; }

/// Whoever is too many waits before the door.
void Server::accept() {
  if (accepting_ || !acceptor_.is_open() || connections_.size() >= kConnectionsMax) {
    return;
  }
  accepting_ = true;
  acceptor_.async_accept([this](error_code error, Stream::socket socket) {
    if (error == asio::error::operation_aborted) {
      return;  // the server may be gone
    }
    accepting_ = false;
    if (error) {
      return;  // no more files, for example: tried again with the next step
    }
    connections_.push_back(std::make_shared<Connection>(std::move(socket), *this));
    connections_.back()->read();
    accept();
  });
}

std::size_t Server::watchers() const {
  return static_cast<std::size_t>(
      std::count_if(connections_.begin(), connections_.end(),
                    [](const auto& connection) { return connection->watching(); }));
}

Text Server::state() {
  return std::make_shared<const std::string>(event_of(json_of(parts_.overview())));
}

void Server::tick() {
  connections_.remove_if([](const auto& connection) { return !connection->is_open(); });
  accept();
  const auto now = std::chrono::steady_clock::now();
  // A step comes a little early or late: that skips no frame.
  if (now < next_frame_ - kFrameEvery / 20) {
    return;
  }
  next_frame_ = std::max(next_frame_ + kFrameEvery, now + kFrameEvery / 2);
  requests_left_ = kRequestsASecond;
  const Text newest = watchers() == 0 ? nullptr : state();
  for (const auto& connection : connections_) {
    connection->go_on();
    if (connection->watching()) {
      connection->show(newest);
    }
  }
}

}  // namespace limegate::page
