#include "page/doorkeeper.h"

#include <algorithm>
#include <array>
#include <cstdlib>
#include <utility>
#include <vector>

#include <boost/beast/http/field.hpp>
#include <fmt/format.h>
#include <fmt/ranges.h>
#include <openssl/crypto.h>
#include <openssl/rand.h>
#include <openssl/sha.h>

namespace limegate::page {
namespace {

namespace http = boost::beast::http;

constexpr const char* kKey = "Limegate-Key";
constexpr std::string_view kBearer = "Bearer ";

Problem problem(unsigned status, std::string_view title, std::string detail) {
  return {status, title, std::move(detail)};
}
Problem unauthorized(std::string detail) { return problem(401, "Unauthorized", std::move(detail)); }

/// 128 bits, in hexadecimal digits.
std::string drawn() {
  std::array<unsigned char, 16> bytes{};
  if (RAND_bytes(bytes.data(), static_cast<int>(bytes.size())) != 1) {
    std::abort();  // a machine without randomness has no secrets
  }
  return fmt::format("{:02x}", fmt::join(bytes, ""));
}

/// In a time that tells nothing of the two.
bool same(std::string_view a, std::string_view b) {
  const auto sum = [](std::string_view text) {
    std::array<unsigned char, SHA256_DIGEST_LENGTH> digest{};
    SHA256(reinterpret_cast<const unsigned char*>(text.data()), text.size(),  // NOLINT
           digest.data());
    return digest;
  };
  const auto first = sum(a), second = sum(b);
  return CRYPTO_memcmp(first.data(), second.data(), first.size()) == 0;
}

std::string text_of(const RequestHead& head, std::string_view field) {
  const auto found = head.find(boost::beast::string_view{field.data(), field.size()});
  return found == head.end() ? std::string{} : std::string{found->value()};
}

/// RFC 6265, section 4.2.1: those of other programs on this machine stand beside ours.
std::string cookie_of(const RequestHead& head) {
  const std::string all = "; " + text_of(head, "Cookie");
  const std::string ours = fmt::format("; {}=", Doorkeeper::kCookie);
  const std::size_t at = all.find(ours);
  return at == std::string::npos
             ? std::string{}
             : all.substr(at + ours.size(), all.find(';', at + ours.size()) - at - ours.size());
}

}  // namespace

Doorkeeper::Doorkeeper(const Settings& settings, std::string token)
    : https_(settings.https_origin),
      port_(settings.port),
      by_socket_(!settings.socket.empty()),
      token_(std::move(token)) {}

std::optional<Problem> Doorkeeper::judge(std::string_view token, bool from_loopback, Now now) {
  if (token_.empty()) {
    return problem(403, "Forbidden",
                   "Nothing can be changed here: the owner's file names no token_file in [page].");
  }
  Wrong& wrong = from_loopback ? wrong_here_ : wrong_elsewhere_;
  if (wrong.many > 0 && now - wrong.since >= kWrongWithin) {
    wrong.many = 0;
  }
  if (wrong.many >= kWrongMost) {
    return problem(429, "Too Many Requests", "Too many wrong tokens. Try again in a minute.");
  }
  if (same(token, token_)) {
    return std::nullopt;
  }
  if (wrong.many++ == 0) {
    wrong.since = now;
  }
  return unauthorized("This is not the token that stands in the owner's token_file.");
}

tl::expected<std::string, Problem> Doorkeeper::origin_of(const RequestHead& head) const {
  const std::string origin = text_of(head, "Origin");
  const std::string host = text_of(head, "Host");
  const bool ours = origin == "http://" + host ||
                    (!https_.empty() && origin == https_ && https_ == "https://" + host);
  if (origin.empty() || ours) {
    return origin;
  }
  return tl::unexpected(
      problem(403, "Forbidden",
              "Another site sent this request. If it came through your own proxy: https_origin in "
              "[page], and the Host as the browser sent it."));
}

station::Origin Doorkeeper::place_of(const RequestHead& head, const std::string& origin,
                                     bool from_loopback) const {
  if (!https_.empty() && origin == https_ && (from_loopback || by_socket_)) {
    return station::Origin::station;
  }
  const std::vector<std::string> names = loopback_names(port_);
  const bool by_name = std::find(names.begin(), names.end(), text_of(head, "Host")) != names.end();
  const bool passed_on = head.count("Forwarded") + head.count("X-Forwarded-For") +
                             head.count("X-Real-IP") + head.count(http::field::via) >
                         0;
  return from_loopback && by_name && !passed_on ? station::Origin::station : station::Origin::afar;
}

tl::expected<station::Origin, Problem> Doorkeeper::admit(const RequestHead& head,
                                                         bool from_loopback, Now now) {
  const auto origin = origin_of(head);
  if (!origin) {
    return tl::unexpected(origin.error());
  }
  const std::string given = text_of(head, "Authorization");
  if (std::string_view{given}.starts_with(kBearer) || token_.empty()) {
    const std::string_view token =
        std::string_view{given}.substr(std::min(given.size(), kBearer.size()));
    if (const auto wrong = judge(token, from_loopback, now)) {
      return tl::unexpected(*wrong);
    }
    return place_of(head, *origin, from_loopback);
  }
  const auto session = session_of(head, now);
  if (!session || origin->empty() || !same(text_of(head, kKey), session->key)) {
    return tl::unexpected(unauthorized("To change something, type the token first."));
  }
  return session->origin == station::Origin::afar ? station::Origin::afar
                                                  : place_of(head, *origin, from_loopback);
}

tl::expected<Doorkeeper::Session, Problem> Doorkeeper::begin(const RequestHead& head,
                                                             bool from_loopback,
                                                             std::string_view token, Now now) {
  const auto origin = origin_of(head);
  if (!origin) {
    return tl::unexpected(origin.error());
  }
  if (const auto wrong = judge(token, from_loopback, now)) {
    return tl::unexpected(*wrong);
  }
  if (open_.size() == kSessionsMost) {
    open_.pop_front();
  }
  open_.push_back({{drawn(), drawn(), !https_.empty() && *origin == https_,
                    place_of(head, *origin, from_loopback)},
                   now});
  return open_.back();
}

std::optional<Doorkeeper::Session> Doorkeeper::session_of(const RequestHead& head, Now now) {
  open_.remove_if([&](const Open& one) { return now - one.begun >= kSessionLasts; });
  const std::string cookie = cookie_of(head);
  const auto known = std::find_if(open_.begin(), open_.end(),
                                  [&](const Open& one) { return same(cookie, one.cookie); });
  return known == open_.end() ? std::nullopt : std::optional<Session>{*known};
}

void Doorkeeper::end(const Session& session) {
  open_.remove_if([&](const Open& one) { return one.cookie == session.cookie; });
}

}  // namespace limegate::page
