// The bytes of a request to the page: it is one of the table by a name of ours, or the answer says
// what is wrong with it; and nothing is obeyed without the token, nor counts as said at the station
// from elsewhere.
#include <chrono>
#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>

#include <boost/asio/buffer.hpp>
#include <boost/beast/http/parser.hpp>
#include <boost/beast/http/string_body.hpp>
#include <nlohmann/json.hpp>

#include "fuzz/promise.h"
#include "page/doorkeeper.h"
#include "page/keeper.h"
#include "page/request_check.h"

namespace {

using limegate::WallTime;
using limegate::fuzz::promise;
namespace http = boost::beast::http;
namespace page = limegate::page;
namespace station = limegate::station;

constexpr std::string_view kToken = "0123456789abcdef0123456789abcdef";
const WallTime kNow{std::chrono::hours{490000}};

page::Settings settings() {
  page::Settings settings;
  settings.host = "reef.lan:8377";
  settings.https_origin = "https://reef.lan";
  return settings;
}

bool has_token(const page::Request& request) {
  const auto given = request.find(http::field::authorization);
  return given != request.end() && given->value() == "Bearer " + std::string{kToken};
}

/// As the manual says who is at the station, in other words than the doorkeeper's.
bool at_the_station(const page::Request& request, bool from_loopback) {
  const std::string host{request[http::field::host]};
  if (request[http::field::origin] == "https://reef.lan") {
    return host == "reef.lan";
  }
  return from_loopback &&
         (host == "127.0.0.1:8377" || host == "localhost:8377" || host == "[::1]:8377") &&
         request.count("X-Forwarded-For") == 0 && request.count("Forwarded") == 0 &&
         request.count("X-Real-IP") == 0 && request.count("Via") == 0;
}

void judge(const page::Problem& problem) {
  promise(problem.status >= 400 && problem.status < 500, "a refusal is the sender's");
  const auto told = nlohmann::json::parse(page::json_of(problem));
  promise(!told.at("detail").get<std::string>().empty(), "a refusal says why");
}

void judge_command(const page::Request& request, bool from_loopback) {
  page::Doorkeeper doorkeeper{settings(), std::string{kToken}};
  const auto now = page::Doorkeeper::Now::clock::now();
  const auto obey = [&](const auto&, const auto&, station::Origin origin, const auto&) {
    promise(has_token(request), "nothing is obeyed without the token");
    promise(origin == station::Origin::afar || at_the_station(request, from_loopback),
            "who is at the station is there");
    return station::Answer{station::Answer::Verdict::accepted, "Done."};
  };
  const auto answer =
      page::command_answer(obey, request, doorkeeper.admit(request, from_loopback, now));
  promise(!answer.body().empty() && nlohmann::json::accept(answer.body()), "an answer is JSON");
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  if (size == 0) {
    return 0;
  }
  const bool from_loopback = data[0] % 2 == 0;
  http::request_parser<http::string_body> parser;
  parser.header_limit(8192);
  parser.eager(true);
  boost::beast::error_code error;
  parser.put(boost::asio::const_buffer{data + 1, size - 1}, error);
  if (error || !parser.is_header_done()) {
    return 0;
  }
  const page::RequestHead& head = parser.get().base();
  const auto route = page::route_of(head, page::names_of(settings()));
  if (!route) {
    judge(route.error());
    return 0;
  }
  const std::string target{head.target()};
  promise(target.rfind((*route)->target, 0) == 0, "a route is what was asked for");
  promise(head.count(http::field::host) == 1 && head.count(http::field::transfer_encoding) == 0,
          "what a second parser may read otherwise is refused");
  if (const auto asked = page::span_asked(target, kNow)) {
    promise(asked->from < asked->until && asked->until - asked->from >= std::chrono::minutes{10} &&
                asked->until - asked->from <= std::chrono::hours{24 * 365 * 5},
            "a span is bounded");
  } else {
    judge(asked.error());
  }
  if (head.method() == http::verb::post && parser.is_done()) {
    judge_command(parser.get(), from_loopback);
  }
  return 0;
}
