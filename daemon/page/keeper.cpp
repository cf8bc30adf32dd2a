#include "page/keeper.h"

#include <algorithm>
#include <array>
#include <chrono>
#include <optional>
#include <string_view>
#include <utility>
#include <variant>

#include <boost/beast/http/field.hpp>
#include <boost/beast/http/verb.hpp>
#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "web/request.h"

namespace limegate::page {
namespace {

namespace http = boost::beast::http;

constexpr const char* kJson = "application/json";

Answer done_answer(const station::Answer& answer) {
  return answer.verdict == station::Answer::Verdict::accepted
             ? answer_of(200, kJson, dump({{"sentence", answer.sentence}}))
             : answer_of(Problem{409, "Conflict", answer.sentence});
}

Answer key_answer(const std::optional<Doorkeeper::Session>& session) {
  return answer_of(
      200, kJson,
      dump({{"key", session ? nlohmann::json(session->key) : nlohmann::json(nullptr)}}));
}

Answer begun_answer(const Doorkeeper::Session& begun) {
  Answer answer = key_answer(begun);
  answer.set(
      http::field::set_cookie,
      fmt::format("{}={}; HttpOnly; SameSite=Strict; Path=/; Max-Age={}{}", Doorkeeper::kCookie,
                  begun.cookie, std::chrono::seconds{Doorkeeper::kSessionLasts}.count(),
                  begun.by_https ? "; Secure" : ""));
  return answer;
}

tl::expected<std::string, Problem> token_in(std::string_view body) {
  const auto typed = nlohmann::json::parse(body, nullptr, false);
  const bool fine = typed.is_object() && typed.size() == 1 && typed.contains("token") &&
                    typed["token"].is_string();
  if (!fine) {
    return tl::unexpected(Problem{422, "Unprocessable Content", R"(Send {"token": "..."}.)"});
  }
  return typed["token"].get<std::string>();
}

tl::expected<web::Request::Command, Problem> command_in(std::string_view body) {
  const auto refuse = [](std::string why) {
    return tl::unexpected(Problem{422, "Unprocessable Content", std::move(why)});
  };
  auto asked = nlohmann::json::parse(body, nullptr, false);
  if (!asked.is_object() || !asked.contains("command") || !asked["command"].is_string()) {
    return refuse(R"(Send {"command": "pause", "station": "NAME", "minutes": 60}, or another.)");
  }
  const nlohmann::json method = asked["command"];
  // What needs a person at the reactor, or is for the owner alone, has no place here.
  constexpr std::array known{"pause",          "resume", "acknowledge", "shelve", "release",
                             "set-day-volume", "stir",   "record",      "undo"};
  if (std::find(known.begin(), known.end(), method.get<std::string>()) == known.end()) {
    return refuse("That is no command of this page: /openapi.json lists them.");
  }
  asked.erase("command");
  const auto request = web::parse_request(
      dump({{"jsonrpc", "2.0"}, {"method", method}, {"params", std::move(asked)}}));
  if (!request) {
    return refuse(request.error().at("error").at("message").get<std::string>());
  }
  return std::get<web::Request::Command>(request->what);
}

}  // namespace

Answer session_answer(Doorkeeper& doorkeeper, const Request& request, bool from_loopback,
                      Doorkeeper::Now now) {
  if (request.method() == http::verb::post) {
    const auto token = token_in(request.body());
    if (!token) {
      return answer_of(token.error());
    }
    const auto begun = doorkeeper.begin(request.base(), from_loopback, *token, now);
    return begun ? begun_answer(*begun) : answer_of(begun.error());
  }
  const auto session = doorkeeper.session_of(request.base(), now);
  if (request.method() == http::verb::delete_ && session) {
    doorkeeper.end(*session);
    return key_answer(std::nullopt);
  }
  return key_answer(session);
}

Answer command_answer(const Obey& obey, const Request& request,
                      const tl::expected<station::Origin, Problem>& admitted) {
  if (!admitted) {
    return answer_of(admitted.error());
  }
  const auto command = command_in(request.body());
  if (!command) {
    return answer_of(command.error());
  }
  return done_answer(obey(command->station, command->what, *admitted, "the page"));
}

}  // namespace limegate::page
