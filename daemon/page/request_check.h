#pragma once

#include <string>
#include <string_view>
#include <vector>

#include <boost/beast/http/fields.hpp>
#include <boost/beast/http/message.hpp>
#include <tl/expected.hpp>

#include "page/settings.h"
#include "units/time.h"

namespace limegate::page {

/// One thing that can be asked for.
struct Route {
  enum class What {
    asset,
    status,
    settings,
    history,
    history_csv,
    events,
    session,
    command,
    stream,
    metrics
  };
  std::string_view target;  ///< without a query; compared byte for byte
  What what;
  std::string_view methods;  ///< that are answered, as Allow lists them
  std::string_view type;     ///< media type of the answer; of metrics: metrics.h
};
/// Everything that can be asked for.
[[nodiscard]] const std::vector<Route>& routes();

/// Why a request is not answered. As problem details, RFC 9457.
struct Problem {
  unsigned status = 400;  ///< RFC 9110
  std::string_view title;
  std::string detail;           ///< one sentence, with the remedy
  std::string_view allow = {};  ///< with 405
};
/// The body, "application/problem+json".
[[nodiscard]] std::string json_of(const Problem& problem);

using RequestHead = boost::beast::http::request_header<boost::beast::http::fields>;

/// Those of loopback, with the port.
[[nodiscard]] std::vector<std::string> loopback_names(int port);
/// The names by which the page may be asked for: those of loopback, the address it listens on
/// unless that is all of them, and the owner's.
[[nodiscard]] std::vector<std::string> names_of(const Settings& settings);

/// What is asked for. The parser lets through what a second one on the way may read otherwise (two
/// hosts, a body where none is due, one without its length), and browsers bring requests that
/// foreign pages made: all of it is refused here, before anything is looked at. Error: the answer;
/// the connection ends with it.
[[nodiscard]] tl::expected<const Route*, Problem> route_of(const RequestHead& head,
                                                           const std::vector<std::string>& names);

/// A station and a span, as it is asked for. Stations and spans are for the caller to know.
struct SpanAsked {
  std::string station;
  WallTime from, until;
};
/// Of "...?station=NAME&hours=N", up to now, or "...?station=NAME&from=TIME&until=TIME" in UTC, as
/// in "2026-11-25T07:15:32Z"; ten minutes to five years. A name needs no escape (config: a-z, 0-9
/// and '-'), and the two forms of a moment (with ':' as it is, or as %3A) are both taken.
[[nodiscard]] tl::expected<SpanAsked, Problem> span_asked(std::string_view target, WallTime now);

}  // namespace limegate::page
