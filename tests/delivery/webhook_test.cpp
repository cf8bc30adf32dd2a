// What a receiver's answer means, from a made-up receiver on loopback.

#include <chrono>
#include <limits>
#include <string>
#include <thread>

#include <boost/asio/io_context.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/write.hpp>
#include <gtest/gtest.h>

#include "delivery/attempt.h"

namespace limegate::delivery {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using boost::asio::ip::tcp;
using Came = Attempt::Came;

/// Answers one request with a head, then so many times with the same piece of a body.
class Receiver {
 public:
  Receiver(std::string head, int pieces) : head_(std::move(head)), pieces_(pieces) {}
  ~Receiver() { thread_.join(); }
  Receiver(const Receiver&) = delete;
  Receiver& operator=(const Receiver&) = delete;
  Receiver(Receiver&&) = delete;
  Receiver& operator=(Receiver&&) = delete;

  [[nodiscard]] std::string url() const {
    return "http://127.0.0.1:" + std::to_string(acceptor_.local_endpoint().port()) + "/reef";
  }

 private:
  void serve() {
    tcp::socket socket = acceptor_.accept();
    std::string request(4096, '\0');
    boost::system::error_code error;
    (void)socket.read_some(boost::asio::buffer(request), error);
    boost::asio::write(socket, boost::asio::buffer(head_), error);
    const std::string piece(1024, 'x');
    for (int i = 0; i < pieces_ && !error; ++i) {
      boost::asio::write(socket, boost::asio::buffer(piece), error);
    }
  }

  std::string head_;
  int pieces_;
  boost::asio::io_context io_;
  tcp::acceptor acceptor_{io_, {boost::asio::ip::address_v4::loopback(), 0}};
  std::thread thread_{[this] { serve(); }};
};

Attempt asked(const std::string& head, int pieces) {
  const Receiver receiver{head, pieces};
  return post({receiver.url()}, "{}");
}

TEST(Receiving, takes_a_status_for_the_answer_though_the_body_breaks_off) {
  EXPECT_EQ(asked("HTTP/1.1 200 OK\r\nContent-Length: 5000\r\n\r\n", 1).came, Came::delivered);
  EXPECT_EQ(asked("HTTP/1.1 503 No\r\nContent-Length: 5000\r\nRetry-After: 90\r\n\r\n", 1).came,
            Came::not_now);
}

TEST(Receiving, waits_for_no_body_without_an_end) {
  const auto begun = std::chrono::steady_clock::now();
  const Attempt attempt = asked("HTTP/1.1 202 Accepted\r\n\r\n", std::numeric_limits<int>::max());
  EXPECT_EQ(attempt.came, Came::delivered) << attempt.sentence;
  EXPECT_LT(std::chrono::steady_clock::now() - begun, 5s);
}

TEST(Receiving, is_no_answer_without_a_status) {
  EXPECT_EQ(asked("", 0).came, Came::not_now);
  EXPECT_EQ(asked("HTTP/1.1 100 Continue\r\n\r\n", 0).came, Came::not_now);
}

}  // namespace
}  // namespace limegate::delivery
