// By HTTP, with libcurl.

#include <chrono>
#include <string_view>

#include <fmt/format.h>

#include "delivery/attempt.h"
#include "delivery/transfer.h"

namespace limegate::delivery {
namespace {

using std::chrono::seconds;

/// Nobody waits longer for a receiver that asks for patience.
constexpr seconds kPatienceMax{24 * 3600};

/// Without a user, a path or a query: those may be secrets.
std::string place_of(std::string_view url) {
  const std::size_t scheme = url.find("://");
  std::size_t begin = scheme == std::string_view::npos ? 0 : scheme + 3;
  const std::size_t end = std::min(url.find_first_of("/?#", begin), url.size());
  if (const std::size_t at = url.substr(0, end).rfind('@');
      at != std::string_view::npos && at >= begin) {
    begin = at + 1;
  }
  return std::string{url.substr(begin, end - begin)};
}

// NOLINTBEGIN(cppcoreguidelines-pro-type-vararg): curl's interface
Attempt judged(Transfer& transfer, const std::string& url) {
  const CURLcode code = transfer.run();
  const long response = transfer.response();  // NOLINT(google-runtime-int)
  const std::string place = place_of(url);
  // Its status is the answer (RFC 9110, section 15); a body that breaks off or never ends takes
  // nothing of it back.
  if (code != CURLE_OK && response < 200) {
    return {Attempt::Came::not_now, place + ": " + transfer.why(code)};
  }
  if (response >= 200 && response < 300) {
    return {Attempt::Came::delivered, fmt::format("{} answers {}", place, response)};
  }
  Attempt attempt{Attempt::Came::not_now, fmt::format("{} answers {}", place, response)};
  curl_off_t patience = 0;
  if (curl_easy_getinfo(transfer.handle(), CURLINFO_RETRY_AFTER, &patience) == CURLE_OK &&
      patience > 0) {
    attempt.not_before = std::min(seconds{patience}, kPatienceMax);
  }
  // The message itself is refused (RFC 9110): another one may be taken.
  if (response == 400 || response == 413 || response == 415 || response == 422) {
    attempt.came = Attempt::Came::never;
  }
  return attempt;
}

}  // namespace

Attempt post(const alerts::Webhook& webhook, const std::string& event) {
  const auto token = files::read_secret(webhook.token, "The token of the webhook");
  if (!token) {
    return {Attempt::Came::not_now, token.error()};
  }
  Transfer transfer{webhook.url, "https,http", webhook.ca_file};
  transfer.add_header("Content-Type: application/cloudevents+json; charset=utf-8");
  transfer.add_header("Expect:");
  if (!token->text.empty()) {
    transfer.add_header("Authorization: Bearer " + token->text);
  }
  curl_easy_setopt(transfer.handle(), CURLOPT_POSTFIELDSIZE_LARGE,
                   static_cast<curl_off_t>(event.size()));
  curl_easy_setopt(transfer.handle(), CURLOPT_POSTFIELDS, event.c_str());
  return judged(transfer, webhook.url);
}
// NOLINTEND(cppcoreguidelines-pro-type-vararg)

Attempt beat(const std::string& url) {
  Transfer transfer{url, "https,http", ""};
  return judged(transfer, url);
}

Attempt attempt(const alerts::Destination& destination, const Envelope& envelope,
                const std::string& event) {
  if (const auto* mail = std::get_if<alerts::Mail>(&destination.way)) {
    return send_mail(*mail, envelope);
  }
  if (const auto* webhook = std::get_if<alerts::Webhook>(&destination.way)) {
    return post(*webhook, event);
  }
  return run_program(std::get<alerts::Program>(destination.way), envelope);
}

}  // namespace limegate::delivery
