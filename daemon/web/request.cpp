#include "web/request.h"

#include <array>
#include <cmath>
#include <optional>
#include <utility>

#include "units/rfc3339.h"
#include "units/shown_text.h"

namespace limegate::web {
namespace {

using nlohmann::json;

// JSON-RPC 2.0, section 5.1.
constexpr int kParseError = -32700;
constexpr int kInvalidRequest = -32600;
constexpr int kMethodNotFound = -32601;
constexpr int kInvalidParams = -32602;

json error_of(const json& id, int code, std::string message) {
  return {
      {"jsonrpc", "2.0"}, {"id", id}, {"error", {{"code", code}, {"message", std::move(message)}}}};
}

/// Takes parameters one by one; what is wrong, missing or left over is the complaint.
class Params {
 public:
  explicit Params(json object) : object_(std::move(object)) {}

  /// What others said, as it came.
  std::string quoted(const char* key) {
    return take(key, &json::is_string, "a text", std::string{});
  }
  std::string text(const char* key) {
    std::string text = quoted(key);
    if (!shows_as_it_is(text)) {
      complain(std::string{key} +
               " holds a control character, or one that turns the direction of letters");
    }
    return text;
  }
  double number(const char* key) {
    if (!object_.contains(key)) {
      complain(std::string{key} + " is missing: a number");
    }
    return take(key, &json::is_number, "a number", 0.0);
  }
  /// A number in the order of the book's entries; what none can have is 0.
  std::int64_t entry(const char* key) {
    constexpr double most = 1e15;
    const double value = number(key);
    return value >= 0.0 && value <= most ? static_cast<std::int64_t>(value) : 0;
  }
  /// Absent where it was left out.
  std::optional<WallTime> time(const char* key) {
    const std::string said = text(key);
    if (said.empty()) {
      return std::nullopt;
    }
    const auto time = parse_rfc3339(said);
    if (!time) {
      complain(std::string{key} + " must be a time as RFC 3339 writes it");
    }
    return time;
  }
  [[nodiscard]] bool has(const char* key) const { return object_.contains(key); }
  bool flag(const char* key) { return take(key, &json::is_boolean, "true or false", false); }

  /// Nothing may be left over; the first complaint, or nothing.
  [[nodiscard]] std::string finish() {
    if (complaint_.empty() && !object_.empty()) {
      complain(object_.begin().key() + " is not known here");
    }
    return complaint_;
  }

 private:
  template <class T>
  T take(const char* key, bool (json::*is)() const noexcept, const char* kind, T otherwise) {
    const auto found = object_.find(key);
    if (found == object_.end()) {
      return otherwise;
    }
    if (!((*found).*is)()) {
      complain(std::string{key} + " must be " + kind);
      return otherwise;
    }
    T value = found->get<T>();
    object_.erase(found);
    return value;
  }
  void complain(const std::string& what) {
    if (complaint_.empty()) {
      complaint_ = what;
    }
  }

  json object_;
  std::string complaint_;
};

/// Minutes as a duration; what no clock can hold is a day, which is cut anyway, or nothing.
Duration minutes(double count) {
  constexpr double most = 1e6;
  const double bounded = std::isnan(count) ? 0.0 : std::min(std::max(count, -most), most);
  return std::chrono::duration_cast<Duration>(
      std::chrono::duration<double, std::ratio<60>>(bounded));
}

/// About the keeper's book.
std::optional<station::Command> book_command_of(const std::string& method, Params& params) {
  if (method == station::name_of(station::WriteEntry{})) {
    station::WriteEntry write;
    write.row.what = params.text("what");
    write.row.value = params.text("value");
    write.row.unit = params.text("unit");
    write.row.kit = params.text("kit");
    write.at = params.time("at");
    write.said =
        params.flag("sure") ? station::WriteEntry::Said::again : station::WriteEntry::Said::once;
    return write;
  }
  if (method == station::name_of(station::UndoEntry{})) {
    return station::UndoEntry{params.entry("number")};
  }
  return std::nullopt;
}

std::optional<alerts::Asked> command_of(const std::string& method, Params& params) {
  if (method == station::name_of(station::Pause{})) {
    return station::Command{station::Pause{minutes(params.number("minutes"))}};
  }
  if (method == station::name_of(station::Resume{})) {
    return station::Command{station::Resume{}};
  }
  if (method == alerts::name_of(alerts::Command{alerts::Acknowledge{}})) {
    return alerts::Command{alerts::Acknowledge{params.text("alert")}};
  }
  if (method == alerts::name_of(alerts::Command{alerts::Shelve{}})) {
    std::string alert = params.text("alert");
    const Duration lasting = minutes(params.number("minutes"));
    return alerts::Command{alerts::Shelve{std::move(alert), lasting, params.text("because")}};
  }
  if (method == station::name_of(station::Release{})) {
    return station::Command{station::Release{params.text("hold")}};
  }
  if (method == station::name_of(station::SetDayVolume{})) {
    return station::Command{station::SetDayVolume{Millilitres{params.number("ml")}}};
  }
  if (method == station::name_of(station::StirNow{})) {
    return station::Command{station::StirNow{}};
  }
  if (method == station::name_of(station::Service{})) {
    return station::Command{station::Service{minutes(params.number("minutes"))}};
  }
  if (method == station::name_of(station::Away{})) {
    const Duration lasting = minutes(params.number("minutes"));
    return station::Command{station::Away{lasting, Millilitres{params.number("ml")}}};
  }
  if (method == station::name_of(station::Back{})) {
    return station::Command{station::Back{}};
  }
  if (method == station::name_of(station::RunAttended{})) {
    return station::Command{station::RunAttended{Millilitres{params.number("ml")}}};
  }
  if (method == station::name_of(station::ConfirmRate{})) {
    return station::Command{station::ConfirmRate{Millilitres{params.number("ml")}}};
  }
  if (method == station::name_of(station::Relearn{})) {
    return station::Command{station::Relearn{}};
  }
  if (method == station::name_of(station::SwitchAllOff{})) {
    return station::Command{station::SwitchAllOff{}};
  }
  return book_command_of(method, params);
}

/// Only what nobody but limegate-deliver can know, and nothing that a station tells.
std::optional<station::Event> found_by_delivery(Params& params) {
  constexpr std::string_view way = "delivery-stuck-";
  station::Event event;
  event.code = params.text("code");
  event.sentence = params.quoted("sentence");
  const std::string about = params.text("about");
  const bool of_a_way =
      about.compare(0, way.size(), way) == 0 && about.size() > way.size() &&
      about.find_first_not_of("abcdefghijklmnopqrstuvwxyz0123456789-") == std::string::npos;
  const bool stuck = event.code == "delivery-stuck", works = event.code == "delivery-works";
  const bool single = event.code == "delivery-refused" || event.code == "daemon-watchdog";
  if ((stuck || works) ? !of_a_way : !(single && about.empty())) {
    return std::nullopt;
  }
  event.severity = works ? station::Severity::info : station::Severity::alert;
  (works ? event.ends : event.begins) = about;
  return event;
}

}  // namespace

json result_of(const json& id, json result) {
  return {{"jsonrpc", "2.0"}, {"id", id}, {"result", std::move(result)}};
}

tl::expected<Request, json> parse_request(std::string_view line) {
  const json message = json::parse(line, nullptr, false);
  if (message.is_discarded()) {
    return tl::unexpected(error_of(nullptr, kParseError, "this line is not JSON"));
  }
  const json id = message.is_object() ? message.value("id", json(nullptr)) : json(nullptr);
  if (!message.is_object() || message.value("jsonrpc", json()) != "2.0" ||
      !message.value("method", json()).is_string() ||
      !message.value("params", json::object()).is_object()) {
    return tl::unexpected(error_of(
        id, kInvalidRequest, "a request has jsonrpc \"2.0\", a method and an object of params"));
  }
  const auto method = message["method"].get<std::string>();
  Params params{message.value("params", json::object())};
  Request request{id, Request::Status{}};
  if (method == "status") {
    const bool watch = params.flag("watch");
    request.what =
        Request::Status{watch ? Request::Status::Times::each_second : Request::Status::Times::once,
                        params.text("station")};
  } else if (method == "messages") {
    request.what = Request::Messages{params.text("after")};
  } else if (method == "book") {
    request.what =
        Request::Book{params.text("station"), params.has("after") ? params.entry("after") : 0};
  } else if (method == "test-alert") {
    request.what = Request::TestAlert{};
  } else if (method == "found") {
    const auto event = found_by_delivery(params);
    if (!event) {
      return tl::unexpected(
          error_of(id, kInvalidParams, "found: code and about are none of limegate-deliver's"));
    }
    request.what = Request::Found{*event};
  } else {
    std::string station = params.text("station");
    const auto command = command_of(method, params);
    if (!command) {
      return tl::unexpected(
          error_of(id, kMethodNotFound, "the method '" + method + "' is not known"));
    }
    request.what = Request::Command{std::move(station), *command};
  }
  if (const std::string complaint = params.finish(); !complaint.empty()) {
    return tl::unexpected(error_of(id, kInvalidParams, method + ": " + complaint));
  }
  return request;
}

}  // namespace limegate::web
