#include "page/answers.h"

#include <cmath>
#include <optional>
#include <sstream>
#include <utility>

#include <boost/beast/http/empty_body.hpp>
#include <boost/beast/http/write.hpp>
#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "page/assets.h"
#include "units/iso8601.h"
#include "web/overview_json.h"

namespace limegate::page {
namespace {

namespace http = boost::beast::http;

/// Source: Content Security Policy Level 3; Fetch (nosniff).
constexpr std::string_view kPolicy =
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'";

template <class Body>
void put_common(http::response<Body>& answer) {
  answer.set("Content-Security-Policy", kPolicy);
  answer.set("X-Content-Type-Options", "nosniff");
  answer.set("Referrer-Policy", "no-referrer");
}

}  // namespace

std::string dump(const nlohmann::json& json) {
  return json.dump(-1, ' ', false, nlohmann::json::error_handler_t::replace);
}

Answer answer_of(unsigned status, std::string_view type, std::string body) {
  Answer answer;
  answer.result(status);
  answer.set(http::field::content_type, type);
  answer.set(http::field::cache_control, "no-store");
  put_common(answer);
  answer.body() = std::move(body);
  answer.prepare_payload();
  return answer;
}

Answer answer_of(const Problem& problem) {
  auto answer = answer_of(problem.status, "application/problem+json", json_of(problem));
  if (problem.status == 405) {
    answer.set(http::field::allow, problem.allow);
  } else if (problem.status == 401) {
    answer.set(http::field::www_authenticate, "Bearer");
  } else if (problem.status == 429) {
    answer.set(http::field::retry_after, "60");
  }
  return answer;
}

Answer come_back(std::string why, std::string_view seconds) {
  auto full = answer_of(Problem{503, "Service Unavailable", std::move(why)});
  full.set(http::field::retry_after, seconds);
  return full;
}

Answer answer_of(const Route& route, const RequestHead& head) {
  const Asset asset = asset_of(route.target);
  const auto known = head.find(http::field::if_none_match);
  auto answer = answer_of(200, route.type, std::string{asset.body});
  if (known != head.end() && known->value() == asset.tag) {
    answer.result(http::status::not_modified);
    answer.body().clear();
    answer.erase(http::field::content_length);
  }
  answer.set(http::field::cache_control, "no-cache");
  answer.set(http::field::etag, asset.tag);
  return answer;
}

std::string json_of(const station::Overview& overview) { return dump(web::json_of(overview)); }

std::string json_of(const journal::Course& course) {
  const auto all = [&](std::optional<double> journal::Course::Step::*part, double unit) {
    nlohmann::json values = nlohmann::json::array();
    for (const journal::Course::Step& step : course.steps) {
      values.push_back(step.*part ? nlohmann::json(std::round(*(step.*part) * unit) / unit)
                                  : nlohmann::json(nullptr));
    }
    return values;
  };
  const auto usual = [&](double journal::UsualBand::*end) {
    nlohmann::json values = nlohmann::json::array();
    for (const journal::Course::Step& step : course.steps) {
      values.push_back(step.usual ? nlohmann::json(std::round((*step.usual).*end * 1000.0) / 1000.0)
                                  : nlohmann::json(nullptr));
    }
    return values;
  };
  using Step = journal::Course::Step;
  return dump({{"from", iso8601(course.from)},
               {"step_s", course.step.count()},
               {"ph_low", all(&Step::ph_low, 1000.0)},
               {"ph_mean", all(&Step::ph_mean, 1000.0)},
               {"ph_high", all(&Step::ph_high, 1000.0)},
               {"ph_usual_low", usual(&journal::UsualBand::low)},
               {"ph_usual_high", usual(&journal::UsualBand::high)},
               {"temperature_low_c", all(&Step::temperature_low, 100.0)},
               {"temperature_c", all(&Step::temperature, 100.0)},
               {"temperature_high_c", all(&Step::temperature_high, 100.0)},
               {"given_ml", all(&Step::given, 100.0)}});
}

std::string csv_of(const journal::Course& course) {
  const auto cell = [](const std::optional<double>& value, int decimals) {
    return value ? fmt::format("{:.{}f}", *value, decimals) : std::string{};
  };
  std::string text =
      "time,ph_low,ph_mean,ph_high,temperature_low_c,temperature_c,temperature_high_c,given_ml\r\n";
  WallTime at = course.from;
  for (const journal::Course::Step& step : course.steps) {
    text +=
        fmt::format("{},{},{},{},{},{},{},{}\r\n", iso8601(at), cell(step.ph_low, 3),
                    cell(step.ph_mean, 3), cell(step.ph_high, 3), cell(step.temperature_low, 2),
                    cell(step.temperature, 2), cell(step.temperature_high, 2), cell(step.given, 2));
    at += course.step;
  }
  return text;
}

std::string json_of(const journal::Happenings& happenings) {
  nlohmann::json events = nlohmann::json::array();
  for (const journal::Happenings::Told& told : happenings.events) {
    events.push_back({{"time", iso8601(told.at)},
                      {"severity", station::name_of(told.severity)},
                      {"code", told.code},
                      {"sentence", told.sentence}});
  }
  nlohmann::json holds = nlohmann::json::array();
  for (const journal::Happenings::Held& held : happenings.holds) {
    holds.push_back(
        {{"code", held.code},
         {"sentence", held.sentence},
         {"since", iso8601(held.since)},
         {"until", held.until ? nlohmann::json(iso8601(*held.until)) : nlohmann::json(nullptr)}});
  }
  return dump({{"events", std::move(events)},
               {"older_events", happenings.older_events},
               {"holds", std::move(holds)},
               {"short_holds", happenings.short_holds}});
}

std::string stream_head(std::string_view type) {
  http::response<http::empty_body> head;
  head.set(http::field::content_type, type);
  head.set(http::field::cache_control, "no-store");
  head.set("X-Accel-Buffering", "no");  // a proxy before us passes each event on at once
  put_common(head);
  head.keep_alive(false);
  std::ostringstream begun;
  begun << head.base();
  return begun.str();
}

}  // namespace limegate::page
