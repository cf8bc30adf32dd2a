#include "page/request_check.h"

#include <algorithm>
#include <charconv>
#include <utility>

#include <boost/beast/http/field.hpp>
#include <boost/beast/http/verb.hpp>
#include <fmt/format.h>
#include <nlohmann/json.hpp>

namespace limegate::page {
namespace {

namespace http = boost::beast::http;

Problem problem(unsigned status, std::string_view title, std::string detail) {
  return {status, title, std::move(detail)};
}

/// Whether a foreign page sent this browser here. Older browsers do not say.
bool from_elsewhere(const RequestHead& head) {
  const auto site = head.find("Sec-Fetch-Site");
  return site != head.end() && site->value() != "same-origin" && site->value() != "none";
}

}  // namespace

const std::vector<Route>& routes() {
  using What = Route::What;
  static const std::vector<Route> all{
      {"/", What::page, "text/html; charset=utf-8"},
      {"/page.css", What::style, "text/css; charset=utf-8"},
      {"/page.js", What::script, "text/javascript; charset=utf-8"},
      {"/openapi.json", What::description, "application/json"},
      {"/api/status", What::status, "application/json"},
      {"/api/history", What::history, "application/json"},
      {"/api/stream", What::stream, "text/event-stream"},
      {"/metrics", What::metrics, "text/plain; version=0.0.4; charset=utf-8"},
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

std::vector<std::string> names_of(const Settings& settings) {
  std::vector<std::string> names;
  if (!settings.host.empty()) {
    names.push_back(settings.host);
  }
  for (const std::string& host :
       {std::string{"127.0.0.1"}, std::string{"localhost"}, std::string{"[::1]"}}) {
    names.push_back(fmt::format("{}:{}", host, settings.port));
  }
  if (!is_any(settings.address)) {
    names.push_back(place_of(settings));
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
  if (head.method() != http::verb::get) {
    return refuse(405, "Method Not Allowed", "Only GET is answered here.");
  }
  const auto length = head.find(http::field::content_length);
  if (length != head.end() && length->value() != "0") {
    return refuse(400, "Bad Request", "A GET has no body here.");
  }
  return &*route;
}

tl::expected<journal::CourseAsked, Problem> course_asked(std::string_view target) {
  constexpr int most = 5 * 365 * 24;
  journal::CourseAsked asked;
  std::string_view query = target.substr(std::min(target.size(), target.find('?') + 1));
  int hours = 0;
  bool fine = target.find('?') != std::string_view::npos;
  while (fine && !query.empty()) {
    const std::string_view pair = query.substr(0, query.find('&'));
    query.remove_prefix(std::min(query.size(), pair.size() + 1));
    const std::size_t equals = std::min(pair.size(), pair.find('='));
    const std::string_view key = pair.substr(0, equals);
    const std::string_view value = pair.substr(std::min(pair.size(), equals + 1));
    if (key == "station" && asked.station.empty()) {
      asked.station = value;
    } else if (key == "hours" && hours == 0) {
      const char* const end = value.data() + value.size();
      const auto read = std::from_chars(value.data(), end, hours);
      fine = read.ec == std::errc{} && read.ptr == end && hours >= 1 && hours <= most;
    } else {
      fine = false;
    }
  }
  if (!fine || asked.station.empty() || hours == 0) {
    return tl::unexpected(problem(
        422, "Unprocessable Content",
        fmt::format("Ask for ?station=NAME&hours=N, with N from 1 to {}, five years.", most)));
  }
  asked.span = std::chrono::hours{hours};
  return asked;
}

}  // namespace limegate::page
