#pragma once

#include <string>
#include <string_view>
#include <vector>

#include <boost/beast/http/fields.hpp>
#include <boost/beast/http/message.hpp>
#include <tl/expected.hpp>

#include "journal/course.h"
#include "page/settings.h"

namespace limegate::page {

/// One thing that can be asked for.
struct Route {
  enum class What { page, style, script, description, status, history, stream, metrics };
  std::string_view target;  ///< without a query; compared byte for byte
  What what;
  std::string_view type;  ///< media type of the answer; of metrics: metrics.h
};
/// Everything that can be asked for.
[[nodiscard]] const std::vector<Route>& routes();

/// Why a request is not answered. As problem details, RFC 9457.
struct Problem {
  unsigned status = 400;  ///< RFC 9110
  std::string_view title;
  std::string detail;  ///< one sentence, with the remedy
};
/// The body, "application/problem+json".
[[nodiscard]] std::string json_of(const Problem& problem);

using RequestHead = boost::beast::http::request_header<boost::beast::http::fields>;

/// The names by which the page may be asked for: those of loopback, the address it listens on
/// unless that is all of them, and the owner's.
[[nodiscard]] std::vector<std::string> names_of(const Settings& settings);

/// What is asked for. The parser lets through what a second one on the way may read otherwise (two
/// hosts, a body where none is due), and browsers bring requests that foreign pages made: all of it
/// is refused here, before anything is looked at. Error: the answer; the connection ends with it.
[[nodiscard]] tl::expected<const Route*, Problem> route_of(const RequestHead& head,
                                                           const std::vector<std::string>& names);

/// Of "/api/history?station=NAME&hours=N", 1 h to 5 years; until when is for the caller to say. A
/// name needs no escape (config: a-z, 0-9 and '-').
[[nodiscard]] tl::expected<journal::CourseAsked, Problem> course_asked(std::string_view target);

}  // namespace limegate::page
