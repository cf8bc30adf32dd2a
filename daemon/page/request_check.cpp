#include "page/request_check.h"

#include <algorithm>
#include <charconv>
#include <chrono>
#include <initializer_list>
#include <map>
#include <optional>
#include <utility>

#include <boost/beast/http/field.hpp>
#include <boost/beast/http/verb.hpp>
#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "units/iso8601.h"
#include "units/rfc3339.h"

namespace limegate::page {
namespace {

namespace http = boost::beast::http;

Problem problem(unsigned status, std::string_view title, std::string detail) {
  return {status, title, std::move(detail)};
}

/// Of a body's length: below 10 kB.
constexpr std::size_t kBodyDigits = 4;

/// Whether a foreign page sent this browser here. Older browsers do not say.
bool from_elsewhere(const RequestHead& head) {
  const auto site = head.find("Sec-Fetch-Site");
  return site != head.end() && site->value() != "same-origin" && site->value() != "none";
}

}  // namespace

const std::vector<Route>& routes() {
  using What = Route::What;
  static const std::vector<Route> all{
      {"/", What::asset, "GET", "text/html; charset=utf-8"},
      {"/page.css", What::asset, "GET", "text/css; charset=utf-8"},
      {"/page.js", What::asset, "GET", "text/javascript; charset=utf-8"},
      {"/icon.svg", What::asset, "GET", "image/svg+xml"},
      {"/past.js", What::asset, "GET", "text/javascript; charset=utf-8"},
      {"/keeper.js", What::asset, "GET", "text/javascript; charset=utf-8"},
      {"/chart.css", What::asset, "GET", "text/css; charset=utf-8"},
      {"/chart.js", What::asset, "GET", "text/javascript; charset=utf-8"},
      {"/openapi.json", What::asset, "GET", "application/json"},
      {"/api/status", What::status, "GET", "application/json"},
      {"/api/settings", What::settings, "GET", "application/json"},
      {"/api/history", What::history, "GET", "application/json"},
      {"/api/history.csv", What::history_csv, "GET", "text/csv; charset=utf-8; header=present"},
      {"/api/events", What::events, "GET", "application/json"},
      {"/api/session", What::session, "GET, POST, DELETE", "application/json"},
      {"/api/command", What::command, "POST", "application/json"},
      {"/api/stream", What::stream, "GET", "text/event-stream"},
      {"/metrics", What::metrics, "GET", "text/plain; version=0.0.4; charset=utf-8"},
  };
  return all;
}

std::string json_of(const Problem& problem) {
  return nlohmann::json{{"type", "about:blank"},
                        {"title", problem.title},
                        {"status", problem.status},
                        {"detail", problem.detail}}
      .dump(-1, ' ', false, nlohmann::json::error_handler_t::replace);
}

namespace {

/// A browser leaves out the port of http (RFC 9110, section 4.2.3).
void add_name(std::string name, int port, std::vector<std::string>& names) {
  constexpr int http_port = 80;
  names.push_back(fmt::format("{}:{}", name, port));
  if (port == http_port) {
    names.push_back(std::move(name));
  }
}

}  // namespace

std::vector<std::string> loopback_names(int port) {
  std::vector<std::string> names;
  for (const char* name : {"127.0.0.1", "localhost", "[::1]"}) {
    add_name(name, port, names);
  }
  return names;
}

std::vector<std::string> names_of(const Settings& settings) {
  constexpr std::string_view https = "https://";
  // A socket has no name: who asks there says which one of ours is meant, or none.
  std::vector<std::string> names = settings.socket.empty() ? loopback_names(settings.port)
                                                           : std::vector<std::string>{"localhost"};
  if (!settings.host.empty()) {
    names.push_back(settings.host);
  }
  if (!settings.https_origin.empty()) {
    names.push_back(settings.https_origin.substr(https.size()));
  }
  if (settings.socket.empty() && !is_any(settings.address)) {
    add_name(host_of(settings.address), settings.port, names);
  }
  return names;
}

tl::expected<const Route*, Problem> route_of(const RequestHead& head,
                                             const std::vector<std::string>& names) {
  const auto refuse = [](unsigned status, std::string_view title, std::string detail) {
    return tl::unexpected(problem(status, title, std::move(detail)));
  };
  if (head.count(http::field::host) != 1) {
    return refuse(400, "Bad Request", "A request has one Host.");
  }
  if (head.count(http::field::transfer_encoding) != 0) {
    return refuse(400, "Bad Request", "No Transfer-Encoding is taken here: send a Content-Length.");
  }
  const std::string host{head.at(http::field::host)};
  if (std::find(names.begin(), names.end(), host) == names.end()) {
    return refuse(421, "Misdirected Request",
                  "This page is not known by that name. The owner's file can name it: host in "
                  "[page].");
  }
  if (from_elsewhere(head)) {
    return refuse(403, "Forbidden", "Another site sent this browser here. Type the address.");
  }
  const std::string_view whole{head.target().data(), head.target().size()};
  const std::string_view target = whole.substr(0, whole.find('?'));
  const auto route = std::find_if(routes().begin(), routes().end(),
                                  [&](const Route& one) { return one.target == target; });
  if (route == routes().end()) {
    return refuse(404, "Not Found", "There is nothing here; /openapi.json lists what there is.");
  }
  const std::string_view method{head.method_string().data(), head.method_string().size()};
  if (route->methods.find(method) == std::string_view::npos ||
      head.method() == http::verb::unknown) {
    return tl::unexpected(Problem{405, "Method Not Allowed",
                                  fmt::format("Only {} is answered here.", route->methods),
                                  route->methods});
  }
  const auto length = head.find(http::field::content_length);
  if (head.method() == http::verb::post) {
    if (length == head.end()) {
      return refuse(411, "Length Required", "Say how long the body is: Content-Length.");
    }
    if (length->value().size() > kBodyDigits) {
      return refuse(413, "Content Too Large", "The body of a request has less than 10 kB.");
    }
    if (head[http::field::content_type] != "application/json") {
      return refuse(415, "Unsupported Media Type",
                    "A body is JSON here: Content-Type: application/json.");
    }
  } else if (length != head.end() && length->value() != "0") {
    return refuse(400, "Bad Request", fmt::format("A {} has no body here.", method));
  }
  return &*route;
}

namespace {

using std::chrono::hours;
constexpr hours kSpanMost{5 * 365 * 24};
constexpr std::chrono::minutes kSpanLeast{10};

/// The parts of a query by name. Error: a name that is not known, or twice.
std::optional<std::map<std::string, std::string>> parts_of(
    std::string_view target, std::initializer_list<std::string_view> names) {
  std::map<std::string, std::string> parts;
  std::string_view query = target.substr(std::min(target.size(), target.find('?')));
  query.remove_prefix(query.empty() ? 0 : 1);
  while (!query.empty()) {
    const std::string_view pair = query.substr(0, query.find('&'));
    query.remove_prefix(std::min(query.size(), pair.size() + 1));
    const std::size_t equals = std::min(pair.size(), pair.find('='));
    const std::string_view name = pair.substr(0, equals);
    std::string value{pair.substr(std::min(pair.size(), equals + 1))};
    for (auto at = value.find("%3A"); at != std::string::npos; at = value.find("%3A")) {
      value.replace(at, 3, ":");
    }
    if (std::find(names.begin(), names.end(), name) == names.end() ||
        !parts.emplace(name, std::move(value)).second) {
      return std::nullopt;
    }
  }
  return parts;
}

std::optional<hours> hours_of(const std::string& text) {
  int count = 0;
  const char* const end = text.data() + text.size();
  const auto read = std::from_chars(text.data(), end, count);
  return read.ec == std::errc{} && read.ptr == end && count >= 1 && hours{count} <= kSpanMost
             ? std::optional{hours{count}}
             : std::nullopt;
}

}  // namespace

tl::expected<SpanAsked, Problem> span_asked(std::string_view target, WallTime now) {
  const auto refuse = [](std::string detail) {
    return tl::unexpected(problem(422, "Unprocessable Content", std::move(detail)));
  };
  auto parts = parts_of(target, {"station", "hours", "from", "until"});
  if (!parts || (*parts)["station"].empty() ||
      parts->contains("hours") == (parts->contains("from") || parts->contains("until"))) {
    return refuse(
        "Ask for ?station=NAME&hours=N, or for ?station=NAME&from=TIME&until=TIME in UTC, such as "
        "2026-11-25T07:15:32Z.");
  }
  SpanAsked asked{(*parts)["station"], now, now};
  if (parts->contains("hours")) {
    const auto span = hours_of((*parts)["hours"]);
    if (!span) {
      return refuse(fmt::format("'hours' is from 1 to {}, five years.",
                                std::chrono::hours{kSpanMost}.count()));
    }
    asked.from = now - *span;
    return asked;
  }
  const auto from = parse_rfc3339((*parts)["from"]);
  const auto until = parse_rfc3339((*parts)["until"]);
  if (!from || !until) {
    return refuse("'from' and 'until' are moments in UTC, such as 2026-11-25T07:15:32Z.");
  }
  if (*until - *from < kSpanLeast || *until - *from > kSpanMost) {
    return refuse("'until' is ten minutes to five years after 'from'.");
  }
  if (*from > now) {
    return refuse(fmt::format("Nothing is known yet of that time: here it is {}.", iso8601(now)));
  }
  asked.from = *from;
  asked.until = std::min(*until, now);  // of what is still to come nobody knows what is given
  return asked;
}

}  // namespace limegate::page
