#pragma once

#include <chrono>
#include <cstddef>
#include <list>
#include <optional>
#include <string>
#include <string_view>

#include <tl/expected.hpp>

#include "page/request_check.h"
#include "page/settings.h"
#include "station/command.h"

namespace limegate::page {

/// Whose words change something: who has the owner's token, and where that person stands.
/// A token comes with each request (RFC 6750), or is typed once for a session: a cookie that no
/// script can read, and a key that goes into a header of its own. Requests that a browser sends for
/// a foreign page have neither the key nor our Origin.
/// At the station is who comes over loopback by its name and through no proxy, or from a proxy on
/// this machine (over loopback or the Unix socket) by the one https origin that the owner's file
/// names: from another machine anybody can write that name over plain http. Everybody else is afar;
/// and a session that was begun afar stays so, for cookie and key could be read on their way.
class Doorkeeper {
 public:
  using Now = std::chrono::steady_clock::time_point;
  static constexpr std::chrono::hours kSessionLasts{12};
  static constexpr std::size_t kSessionsMost = 32;  ///< the oldest goes
  /// Wrong tokens, from whomever, before nobody is heard for a minute: counted apart for loopback,
  /// and so for all who come by a proxy on this machine, so that nobody else locks out who is
  /// there.
  static constexpr int kWrongMost = 5;
  static constexpr std::chrono::minutes kWrongWithin{1};

  static constexpr const char* kCookie = "limegate-session";

  /// An empty token: nobody may change anything.
  Doorkeeper(const Settings& settings, std::string token);

  /// Where the sender stands. Error: why the request is not obeyed.
  [[nodiscard]] tl::expected<station::Origin, Problem> admit(const RequestHead& head,
                                                             bool from_loopback, Now now);
  struct Session {
    std::string cookie;  ///< the value of `kCookie`; it is a secret
    std::string key;     ///< for the header "Limegate-Key"
    bool by_https = false;
    station::Origin origin = station::Origin::afar;  ///< where it was begun
  };
  /// A token was typed.
  [[nodiscard]] tl::expected<Session, Problem> begin(const RequestHead& head, bool from_loopback,
                                                     std::string_view token, Now now);
  /// The session of a request that only reads, if it has one.
  [[nodiscard]] std::optional<Session> session_of(const RequestHead& head, Now now);
  void end(const Session& session);

 private:
  struct Open : Session {
    Now begun;
  };
  /// What keeps the token from being tried; nothing once it was the right one.
  [[nodiscard]] std::optional<Problem> judge(std::string_view token, bool from_loopback, Now now);
  /// The origin that a browser names, if it is one of ours.
  [[nodiscard]] tl::expected<std::string, Problem> origin_of(const RequestHead& head) const;
  [[nodiscard]] station::Origin place_of(const RequestHead& head, const std::string& origin,
                                         bool from_loopback) const;

  std::string https_;
  int port_;
  bool by_socket_;
  std::string token_;
  std::list<Open> open_;
  struct Wrong {
    int many = 0;
    Now since;
  };
  Wrong wrong_here_, wrong_elsewhere_;
};

}  // namespace limegate::page
