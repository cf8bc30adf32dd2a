// Whose words change something: tokens, sessions, origins.

#include "page/doorkeeper.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace limegate::page {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using station::Origin;

constexpr const char* kToken = "0123456789abcdef0123456789abcdef";
const Doorkeeper::Now kNow{1h};

RequestHead head(const std::vector<std::pair<std::string, std::string>>& fields) {
  RequestHead head;
  for (const auto& [name, value] : fields) {
    head.insert(name, value);
  }
  return head;
}

/// A browser at the station, and what it sends beside cookie and key.
const std::vector<std::pair<std::string, std::string>> kHere{{"Host", "127.0.0.1:8377"},
                                                             {"Origin", "http://127.0.0.1:8377"}};
const std::vector<std::pair<std::string, std::string>> kHouse{{"Host", "reef.lan:8377"},
                                                              {"Origin", "http://reef.lan:8377"}};
const std::vector<std::pair<std::string, std::string>> kProxied{
    {"Host", "reef.example"}, {"Origin", "https://reef.example"}, {"X-Forwarded-For", "10.1.1.1"}};

class DoorkeeperTest : public testing::Test {
 protected:
  DoorkeeperTest() { begin(kToken); }
  void begin(const std::string& token) {
    Settings settings;
    settings.host = "reef.lan:8377";
    settings.https_origin = "https://reef.example";
    doorkeeper.emplace(settings, token);
  }
  /// The same request with the session's cookie and key.
  [[nodiscard]] static RequestHead with(std::vector<std::pair<std::string, std::string>> fields,
                                        const Doorkeeper::Session& session) {
    fields.emplace_back("Cookie",
                        "other=a b|c; limegate-session=" + session.cookie + "; more=\"x\"");
    fields.emplace_back("Limegate-Key", session.key);
    return head(fields);
  }
  [[nodiscard]] static RequestHead bearing(std::vector<std::pair<std::string, std::string>> fields,
                                           const std::string& token) {
    fields.emplace_back("Authorization", "Bearer " + token);
    return head(fields);
  }
  using Fields = std::vector<std::pair<std::string, std::string>>;
  [[nodiscard]] Doorkeeper::Session session(const Fields& fields = kHere, bool loopback = true) {
    const auto begun = doorkeeper->begin(head(fields), loopback, kToken, kNow);
    EXPECT_TRUE(begun);
    return begun.value_or(Doorkeeper::Session{});
  }
  /// The status of a refusal; 0: obeyed at the station, 1: from afar.
  [[nodiscard]] unsigned outcome(const RequestHead& request, bool from_loopback = true,
                                 Doorkeeper::Now now = kNow) {
    const auto origin = doorkeeper->admit(request, from_loopback, now);
    return origin ? (*origin == Origin::station ? 0U : 1U) : origin.error().status;
  }

  std::optional<Doorkeeper> doorkeeper;
};

TEST_F(DoorkeeperTest, without_a_token_in_the_file_nobody_is_obeyed) {
  begin("");
  EXPECT_EQ(outcome(head(kHere)), 403U);
  EXPECT_EQ(outcome(bearing(kHere, "")), 403U);
  const auto begun = doorkeeper->begin(head(kHere), true, "", kNow);
  ASSERT_FALSE(begun);
  EXPECT_EQ(begun.error().status, 403U);
}

TEST_F(DoorkeeperTest, without_a_token_in_the_request_nobody_is_obeyed) {
  EXPECT_EQ(outcome(head(kHere)), 401U);
  EXPECT_EQ(outcome(bearing(kHere, "")), 401U);
  EXPECT_EQ(outcome(bearing(kHere, std::string{kToken}.substr(1))), 401U);
  EXPECT_EQ(outcome(bearing(kHere, std::string{kToken} + "0")), 401U);
  EXPECT_EQ(outcome(bearing(kHere, kToken)), 0U);
}

TEST_F(DoorkeeperTest, who_stands_at_the_station_comes_over_loopback_by_its_name_directly) {
  EXPECT_EQ(outcome(bearing({{"Host", "localhost:8377"}}, kToken)), 0U) << "a script";
  EXPECT_EQ(outcome(bearing({{"Host", "[::1]:8377"}}, kToken)), 0U);
  EXPECT_EQ(outcome(bearing(kHere, kToken), false), 1U) << "by a name that anybody can send";
  EXPECT_EQ(outcome(bearing(kHouse, kToken)), 1U) << "a proxy here passes it on";
  EXPECT_EQ(outcome(bearing(kHouse, kToken), false), 1U);
  for (const char* passed_on : {"Forwarded", "X-Forwarded-For", "X-Real-IP", "Via"}) {
    auto fields = kHere;
    fields.emplace_back(passed_on, "x");
    EXPECT_EQ(outcome(bearing(fields, kToken)), 1U) << passed_on;
  }
}

TEST_F(DoorkeeperTest, the_https_origin_of_the_file_counts_as_the_station) {
  EXPECT_EQ(outcome(bearing(kProxied, kToken)), 0U);
  EXPECT_EQ(outcome(bearing({{"Host", "reef.example"}}, kToken), false), 1U)
      << "no browser: nothing says that it came by https";
  EXPECT_EQ(outcome(bearing({{"Host", "reef.example"}, {"Origin", "http://reef.example"}}, kToken)),
            1U);
  EXPECT_EQ(
      outcome(bearing({{"Host", "127.0.0.1:8377"}, {"Origin", "https://reef.example"}}, kToken)),
      403U)
      << "its proxy passes on the name";
}

// Found by a review: anybody in the house can write it over plain http.
TEST_F(DoorkeeperTest, the_https_origin_counts_only_from_a_proxy_on_this_machine) {
  EXPECT_EQ(outcome(bearing(kProxied, kToken), false), 1U);
  EXPECT_EQ(session(kProxied, false).origin, station::Origin::afar);
}

TEST_F(DoorkeeperTest, a_session_needs_its_cookie_its_key_and_our_own_origin) {
  const Doorkeeper::Session open = session();
  EXPECT_EQ(outcome(with(kHere, open)), 0U);
  EXPECT_EQ(outcome(with(kHouse, open), false), 1U);
  EXPECT_EQ(outcome(with(kProxied, open)), 0U);
  EXPECT_EQ(outcome(with(kHere, {open.cookie, {}})), 401U);
  EXPECT_EQ(outcome(with(kHere, {open.cookie, open.cookie})), 401U);
  EXPECT_EQ(outcome(with(kHere, {{}, open.key})), 401U);
  EXPECT_EQ(outcome(with(kHere, {open.key, open.key})), 401U);
  EXPECT_EQ(outcome(with({{"Host", "127.0.0.1:8377"}}, open)), 401U) << "browsers say where from";
}

TEST_F(DoorkeeperTest, a_session_that_was_begun_afar_stays_there) {
  const Doorkeeper::Session open = session(kHouse, false);
  EXPECT_EQ(outcome(with(kHouse, open), false), 1U);
  EXPECT_EQ(outcome(with(kProxied, open)), 1U) << "who read it on its way gains nothing by https";
  EXPECT_EQ(outcome(with(kHere, open)), 1U);
  EXPECT_FALSE(open.by_https);
  EXPECT_TRUE(session(kProxied, true).by_https);
  EXPECT_EQ(outcome(with(kProxied, session(kProxied, true))), 0U);
}

TEST_F(DoorkeeperTest, another_site_is_refused_whatever_it_brings) {
  const Doorkeeper::Session open = session();
  for (const char* origin :
       {"http://127.0.0.1:8378", "http://evil.example", "https://127.0.0.1:8377", "null",
        "http://127.0.0.1:8377.evil.example", "http://127.0.0.1", "HTTP://127.0.0.1:8377"}) {
    const std::vector<std::pair<std::string, std::string>> fields{{"Host", "127.0.0.1:8377"},
                                                                  {"Origin", origin}};
    EXPECT_EQ(outcome(with(fields, open)), 403U) << origin;
    EXPECT_EQ(outcome(bearing(fields, kToken)), 403U) << origin;
    const auto begun = doorkeeper->begin(head(fields), true, kToken, kNow);
    EXPECT_TRUE(!begun && begun.error().status == 403U) << origin;
  }
}

TEST_F(DoorkeeperTest, wrong_tokens_are_counted_whoever_sends_them) {
  for (int i = 0; i < Doorkeeper::kWrongMost; ++i) {
    EXPECT_EQ(outcome(bearing(kHere, "wrong"), true, kNow + i * 1s), 401U);
  }
  EXPECT_EQ(outcome(bearing(kHere, kToken), true, kNow + 59s), 429U) << "also the right one waits";
  EXPECT_FALSE(doorkeeper->begin(head(kHere), true, kToken, kNow + 59s));
  EXPECT_EQ(outcome(bearing(kHere, kToken), true, kNow + 60s), 0U);
  EXPECT_EQ(outcome(bearing(kHere, "wrong"), true, kNow + 61s), 401U) << "counted anew";
}

TEST_F(DoorkeeperTest, wrong_tokens_from_elsewhere_lock_out_nobody_at_the_machine) {
  for (int i = 0; i < 2 * Doorkeeper::kWrongMost; ++i) {
    (void)outcome(bearing(kHouse, "wrong"), false);
  }
  EXPECT_EQ(outcome(bearing(kHouse, kToken), false), 429U);
  EXPECT_EQ(outcome(bearing(kHere, kToken)), 0U);
}

TEST_F(DoorkeeperTest, who_has_a_session_is_not_kept_out_by_others) {
  const Doorkeeper::Session open = session();
  for (int i = 0; i < 2 * Doorkeeper::kWrongMost; ++i) {
    (void)outcome(bearing(kHere, "wrong"));
  }
  EXPECT_EQ(outcome(with(kHere, open)), 0U);
}

TEST_F(DoorkeeperTest, a_session_ends) {
  const Doorkeeper::Session open = session();
  EXPECT_EQ(outcome(with(kHere, open), true, kNow + Doorkeeper::kSessionLasts - 1s), 0U);
  EXPECT_EQ(outcome(with(kHere, open), true, kNow + Doorkeeper::kSessionLasts), 401U);
  const Doorkeeper::Session other = session();
  EXPECT_NE(other.cookie, open.cookie);
  EXPECT_NE(other.key, open.key);
  EXPECT_EQ(other.cookie.size(), 32U);
  doorkeeper->end(other);
  EXPECT_EQ(outcome(with(kHere, other)), 401U);
}

TEST_F(DoorkeeperTest, of_too_many_sessions_the_oldest_goes) {
  const Doorkeeper::Session oldest = session();
  const Doorkeeper::Session second = session();
  for (std::size_t i = 2; i <= Doorkeeper::kSessionsMost; ++i) {
    (void)session();
  }
  EXPECT_EQ(outcome(with(kHere, oldest)), 401U);
  EXPECT_EQ(outcome(with(kHere, second)), 0U);
}

}  // namespace
}  // namespace limegate::page
