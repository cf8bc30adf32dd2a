// The page's server over real sockets: what it answers, what it refuses, and what it bears.

#include "page/server.h"

#include <atomic>
#include <chrono>
#include <functional>
#include <optional>
#include <string>
#include <thread>
#include <vector>

#include <boost/asio/connect.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/local/stream_protocol.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/read.hpp>
#include <boost/asio/write.hpp>
#include <gmock/gmock.h>
#include <nlohmann/json.hpp>
#include <sys/stat.h>

#include "page/request_check.h"
#include "support/places.h"
#include "support/program.h"
#include "units/rfc3339.h"

namespace limegate::page {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using boost::asio::ip::tcp;
using testing::HasSubstr;
using testing::Not;
using testing::StartsWith;

station::Overview overview_of_a_reef() {
  station::Overview overview;
  overview.at.wall = *parse_rfc3339("2026-11-28T07:00:00Z");
  station::Status status;
  status.station = "reef";
  status.gate_open = true;
  status.pulse_volume = Millilitres{14.0};
  status.next_pulse_in = 12min;
  overview.stations.push_back(status);
  return overview;
}

constexpr const char* kToken = "0123456789abcdef0123456789abcdef";
const std::string kBearer = std::string{"Authorization: Bearer "} + kToken + "\r\n";

/// A browser without a browser's mind: it sends what it is told to.
class Peer {
 public:
  explicit Peer(int port) : socket_(loop_) {
    socket_.connect({boost::asio::ip::make_address("127.0.0.1"), static_cast<std::uint16_t>(port)});
    timeval within{5, 0};
    ::setsockopt(socket_.native_handle(), SOL_SOCKET, SO_RCVTIMEO, &within, sizeof within);
  }
  /// False once the other end is gone.
  bool send(const std::string& bytes) {
    boost::system::error_code error;
    boost::asio::write(socket_, boost::asio::buffer(bytes), error);
    return !error;
  }
  /// All that comes until `end` came, the connection ended or five seconds went by.
  std::string read_until(const std::string& end) {
    std::string text;
    std::array<char, 4096> part{};
    while (text.find(end) == std::string::npos) {
      const auto length = ::recv(socket_.native_handle(), part.data(), part.size(), 0);
      if (length <= 0) {
        break;
      }
      text.append(part.data(), static_cast<std::size_t>(length));
    }
    return text;
  }
  std::string read_all() { return read_until(std::string(1, '\0') + "never"); }

 private:
  boost::asio::io_context loop_;
  tcp::socket socket_;
};

class Served : public testing::Test {
 protected:
  Served() {
    Settings settings;
    settings.port = 0;
    settings.host = "reef.lan";
    server_.emplace(
        loop_, settings, kToken,
        Server::Parts{
            [this] {
              ++asked_;
              return overview_of_a_reef();
            },
            {{"reef", "Station reef\n  Site \xff"}},
            [this](const auto& station, const auto& command, auto origin, const auto& who) {
              ++obeyed_;
              return told(station, command, origin, who);
            },
            [this](const journal::CourseAsked& asked, const auto& reply) {
              newest_until_ = asked.until;
              if (asked.until - asked.from == 3h) {
                return unanswered_.push_back(reply);
              }
              if (asked.until - asked.from == 2h) {
                return reply(tl::unexpected(
                    journal::StorageError{journal::StorageFault::damaged, "it is damaged"}));
              }
              journal::Course course{asked.from, 10s, {}};
              course.steps = {{8.1, 8.2, 8.3, 25.0, 14.0, {}, 24.9, 25.1}, {}};
              reply(course);
            },
            [](const journal::HappeningsAsked& asked, const auto& reply) {
              using station::Severity;
              journal::Happenings told;
              told.events = {{asked.until, Severity::alert, "a-latch", "It holds \xff."}};
              told.holds = {{"settling", "It settles.", asked.from, {}}};
              told.older_events = true;
              reply(told);
            },
            [this](const auto& reply) {
              if (counts_) {
                return reply(*counts_);
              }
              reply(tl::unexpected(
                  journal::StorageError{journal::StorageFault::damaged, "it is damaged"}));
            }});
    const auto open = server_->listen();
    EXPECT_TRUE(open) << open.error();
    port_ = server_->port();
    thread_ = std::thread{[this] {
      const auto guard = boost::asio::make_work_guard(loop_);
      loop_.run();
    }};
  }
  void TearDown() override {
    boost::asio::post(loop_, [this] {
      server_.reset();
      loop_.stop();
    });
    thread_.join();
  }
  void tick() {
    boost::asio::post(loop_, [this] { server_->tick(); });
  }
  [[nodiscard]] std::string local() const { return "127.0.0.1:" + std::to_string(port_); }
  [[nodiscard]] std::string get(const std::string& target, const std::string& more = "") const {
    return "GET " + target + " HTTP/1.1\r\nHost: " + local() + "\r\n" + more + "\r\n";
  }
  /// What comes to one request, until the connection ends.
  [[nodiscard]] std::string answer_to(const std::string& request) const {
    Peer peer{port_};
    peer.send(request);
    return peer.read_all();
  }
  [[nodiscard]] std::string page(const std::string& target) const {
    return answer_to(get(target, "Connection: close\r\n"));
  }

  boost::asio::io_context loop_{1};
  std::optional<Server> server_;
  /// Refuses a resume; of others it says what came.
  static station::Answer told(const std::string& station, const alerts::Asked& asked,
                              station::Origin origin, const std::string& who) {
    using Verdict = station::Answer::Verdict;
    const auto& command = std::get<station::Command>(asked);
    if (std::holds_alternative<station::Resume>(command)) {
      return {Verdict::refused, "There is no pause."};
    }
    return {Verdict::accepted, who + ": " + station::name_of(command) + " of " + station +
                                   (origin == station::Origin::station ? " here" : " from afar")};
  }
  [[nodiscard]] std::string post(const std::string& target, const std::string& body,
                                 const std::string& more) const {
    return answer_to("POST " + target + " HTTP/1.1\r\nHost: " + local() +
                     "\r\nContent-Type: application/json\r\nConnection: close\r\n" + more +
                     "Content-Length: " + std::to_string(body.size()) + "\r\n\r\n" + body);
  }
  [[nodiscard]] std::string ours() const { return "Origin: http://" + local() + "\r\n"; }

  std::atomic<int> asked_{0}, obeyed_{0};
  std::atomic<WallTime> newest_until_{};
  /// Set before anybody asks.
  std::optional<journal::Counts> counts_;
  /// Of readings of three hours; of the loop.
  std::vector<std::function<void(const journal::Stored<journal::Course>&)>> unanswered_;
  int port_ = 0;
  std::thread thread_;
};

TEST_F(Served, what_was_is_told_with_its_gaps) {
  const std::string answer = page("/api/history?station=reef&hours=24");
  const auto course = nlohmann::json::parse(answer.substr(answer.find("\r\n\r\n")));
  EXPECT_EQ(course.at("ph_high").dump(), "[8.3,null]");
  EXPECT_EQ(course.at("temperature_low_c").dump(), "[24.9,null]");
  EXPECT_EQ(course.at("temperature_c").dump(), "[25.0,null]");
  EXPECT_EQ(course.at("temperature_high_c").dump(), "[25.1,null]");
  EXPECT_EQ(course.at("given_ml").dump(), "[14.0,null]");
  EXPECT_EQ(course.at("step_s"), 10);
  EXPECT_THAT(page("/api/history?hours=2&station=reef"), HasSubstr("The record can't be read"));
}

TEST_F(Served, the_settings_are_told_whatever_bytes_they_have) {
  EXPECT_THAT(page("/api/settings"),
              HasSubstr("{\"reef\":\"Station reef\\n  Site \xef\xbf\xbd\"}"));
}

TEST_F(Served, metrics_have_counters_while_the_record_can_be_read) {
  EXPECT_THAT(page("/metrics"), testing::AllOf(HasSubstr("limegate_gate_open{station=\"reef\"} 1"),
                                               Not(HasSubstr("limegate_pulses"))));
  counts_ = journal::Counts{WallTime{}, {{"reef", "pulse-given", "", 7}}, {}};
  EXPECT_THAT(page("/metrics"),
              HasSubstr("limegate_pulses_total{station=\"reef\",outcome=\"given\"} 7\n"));
}

TEST_F(Served, who_leaves_still_counts_until_the_disk_has_answered) {
  for (int i = 0; i < Server::kReadingsMax; ++i) {
    Peer leaves{port_};
    leaves.send(get("/api/history?station=reef&hours=3"));
    while (asked_ < i + 1) {
      std::this_thread::sleep_for(1ms);
    }
  }
  const std::string refused = page("/api/history?station=reef&hours=3");
  EXPECT_THAT(refused, StartsWith("HTTP/1.1 503"));
  EXPECT_THAT(refused, HasSubstr("or its disk does not answer"));
  EXPECT_THAT(refused, HasSubstr("Retry-After: 5"));
  EXPECT_THAT(page("/api/status"), StartsWith("HTTP/1.1 200")) << "what needs no disk is served";
  boost::asio::post(loop_, [this] {
    for (const auto& reply : std::exchange(unanswered_, {})) {
      reply(journal::Course{});
    }
  });
  EXPECT_THAT(page("/api/history?station=reef&hours=24"), StartsWith("HTTP/1.1 200"));
}

// RFC 4180.
TEST_F(Served, of_what_is_still_to_come_nothing_is_told) {
  std::string target = "/api/history?station=reef&from=2026-11-28T03:00:00Z";
  EXPECT_THAT(page(target + "&until=2026-11-29T07:00:00Z"), StartsWith("HTTP/1.1 200"));
  EXPECT_EQ(newest_until_.load(), *parse_rfc3339("2026-11-28T07:00:00Z"));
}

TEST_F(Served, what_was_is_told_in_lines_too) {
  const std::string answer =
      page("/api/history.csv?station=reef&from=2026-11-25T07:15:32Z&until=2026-11-25T07:25:32Z");
  EXPECT_THAT(answer, HasSubstr("Content-Type: text/csv; charset=utf-8; header=present\r\n"));
  EXPECT_THAT(answer,
              testing::EndsWith("\r\n\r\ntime,ph_low,ph_mean,ph_high,temperature_low_c,"
                                "temperature_c,temperature_high_c,given_ml\r\n"
                                "2026-11-25T07:15:32Z,8.100,8.200,8.300,24.90,25.00,25.10,14.00\r\n"
                                "2026-11-25T07:15:42Z,,,,,,,\r\n"));
}

TEST_F(Served, a_span_that_is_none_is_refused_in_one_sentence) {
  for (const char* query :
       {"",
        "?",
        "?station=reef",
        "?station=reef&from=2026-11-25T07:00:00Z",
        "?station=reef&until=2026-11-25T07:00:00Z",
        "?station=reef&hours=1&from=2026-11-25T07:00:00Z&until=2026-11-25T08:00:00Z",
        "?station=reef&from=2026-11-25T08:00:00Z&until=2026-11-25T07:00:00Z",
        "?station=reef&from=2026-11-25T07:00:00Z&until=2026-11-25T07:09:59Z",
        "?station=reef&from=2021-11-25T07:00:00Z&until=2026-11-25T07:00:00Z",
        "?station=reef&from=2026-11-25T07:00:00&until=2026-11-25T08:00:00Z",
        "?station=reef&from=2026-11-31T07:00:00Z&until=2026-12-25T08:00:00Z",
        "?station=reef&from=2026-11-25T7:00:00Z&until=2026-12-25T08:00:00Z",
        "?station=reef&from=0000-00-00T00:00:00Z&until=9999-99-99T99:99:99Z",
        "?station=reef&from=2026-11-28T07:00:01Z&until=2026-11-29T07:00:00Z",
        "?hours=24",
        "?station=reef&hours=0",
        "?station=reef&hours=-1",
        "?station=reef&hours=43801",
        "?station=reef&hours=1e3",
        "?station=reef&hours=24h",
        "?station=reef&hours=99999999999999999999",
        "?station=&hours=24",
        "?station=reef&hours=24&hours=24",
        "?station=reef&hours=24&days=1",
        "?station=reef&station=reef&hours=24",
        "?&&&",
        "?=",
        "?hours"}) {
    EXPECT_THAT(page(std::string{"/api/history"} + query), StartsWith("HTTP/1.1 422")) << query;
    EXPECT_THAT(page(std::string{"/api/events"} + query), StartsWith("HTTP/1.1 422")) << query;
  }
  EXPECT_THAT(page("/api/events?station=nano&hours=24"), StartsWith("HTTP/1.1 404"));
  EXPECT_THAT(page("/api/history?station=nano&hours=24"), StartsWith("HTTP/1.1 404"));
  EXPECT_THAT(page("/api/history?station=reef&hours=43800"), StartsWith("HTTP/1.1 200"));
}

TEST_F(Served, a_span_is_asked_for_by_its_ends_too) {
  for (const char* from : {"2026-11-25T07:15:32Z", "2026-11-25T07%3A15%3A32Z"}) {
    const std::string answer =
        page(std::string{"/api/history?station=reef&from="} + from + "&until=2026-11-25T07:25:32Z");
    EXPECT_THAT(answer, HasSubstr(R"("from":"2026-11-25T07:15:32Z")")) << from;
  }
  EXPECT_THAT(page("/api/history?station=reef&hours=24"),
              HasSubstr(R"("from":"2026-11-27T07:00:00Z")"))
      << "up to now";
}

TEST_F(Served, what_was_told_is_told_again) {
  const std::string answer = page("/api/events?station=reef&hours=24");
  const auto told = nlohmann::json::parse(answer.substr(answer.find("\r\n\r\n")));
  EXPECT_EQ(told.at("events").at(0).at("severity"), "alert");
  EXPECT_EQ(told.at("events").at(0).at("time"), "2026-11-28T07:00:00Z");
  EXPECT_EQ(told.at("events").at(0).at("sentence"), "It holds \xEF\xBF\xBD.");
  EXPECT_EQ(told.at("holds").at(0).at("since"), "2026-11-27T07:00:00Z");
  EXPECT_TRUE(told.at("holds").at(0).at("until").is_null());
  EXPECT_EQ(told.at("older_events"), true);
}

TEST_F(Served, every_route_answers_as_what_it_is) {
  for (const Route& route : routes()) {
    if (route.what == Route::What::stream || route.what == Route::What::command ||
        route.what == Route::What::history || route.what == Route::What::history_csv ||
        route.what == Route::What::events) {
      continue;
    }
    const std::string answer = page(std::string{route.target});
    EXPECT_THAT(answer, StartsWith("HTTP/1.1 200 OK\r\n")) << route.target;
    EXPECT_THAT(answer, HasSubstr("Content-Type: " + std::string{route.type})) << route.target;
    EXPECT_THAT(answer, HasSubstr("X-Content-Type-Options: nosniff")) << route.target;
    EXPECT_THAT(answer, HasSubstr("Content-Security-Policy: default-src 'none'")) << route.target;
  }
}

TEST_F(Served, the_status_is_that_of_every_surface) {
  const std::string answer = page("/api/status");
  EXPECT_THAT(answer, HasSubstr("Cache-Control: no-store"));
  const auto status = nlohmann::json::parse(answer.substr(answer.find("\r\n\r\n")));
  EXPECT_EQ(status.at("stations").at(0).at("verdict").at("sentence"),
            "All is well: 14.0 mL come in 12 min.");
}

// OpenAPI 3.1: its schemas are JSON Schema 2020-12, which python3-jsonschema judges.
TEST_F(Served, what_is_described_is_what_is_answered) {
  const auto body = [&](const std::string& target) {
    const std::string answer = page(target);
    return answer.substr(answer.find("\r\n\r\n") + 4);
  };
  const auto described = nlohmann::json::parse(body("/openapi.json"));
  EXPECT_EQ(described.at("openapi"), "3.1.0");
  std::vector<std::string> undescribed;
  for (const Route& route : routes()) {
    const bool asset = route.what == Route::What::asset && route.target != "/openapi.json";
    if (!asset && !described.at("paths").contains(route.target)) {
      undescribed.emplace_back(route.target);
    }
  }
  EXPECT_THAT(undescribed, testing::IsEmpty());
  const test::TempDir folder;
  test::write_file(folder.path() + "/api", described.dump());
  const auto complaint = [&](const std::string& schema, const std::string& document) {
    test::write_file(folder.path() + "/answer", document);
    const std::string script =
        "import json, sys, jsonschema\n"
        "api = json.load(open(sys.argv[1])); answer = json.load(open(sys.argv[2]))\n"
        "schema = {**api, '$ref': '#/components/schemas/' + sys.argv[3]}\n"
        "for error in jsonschema.Draft202012Validator(schema).iter_errors(answer):\n"
        "  print(error.message)\n";
    return test::run_program({"/usr/bin/python3", "-c", script, folder.path() + "/api",
                              folder.path() + "/answer", schema})
        .output;
  };
  EXPECT_EQ(complaint("Overview", body("/api/status")), "");
  EXPECT_EQ(complaint("Course", body("/api/history?station=reef&hours=24")), "");
  EXPECT_EQ(complaint("Happenings", body("/api/events?station=reef&hours=24")), "");
  EXPECT_EQ(complaint("Session", body("/api/session")), "");
  const std::string done =
      post("/api/command", R"({"command": "stir", "station": "reef"})", kBearer);
  EXPECT_EQ(complaint("Done", done.substr(done.find("\r\n\r\n") + 4)), "");
  EXPECT_EQ(complaint("Problem", body("/nowhere")), "");
  EXPECT_THAT(complaint("Overview", "{}"), HasSubstr("'stations' is a required property"));
}

// RFC 9110, section 13.1.2.
TEST_F(Served, what_is_built_in_is_sent_again_only_if_it_is_another) {
  const std::string first = page("/page.js");
  const auto begin = first.find("ETag: ") + 6;
  const std::string tag = first.substr(begin, first.find('\r', begin) - begin);
  EXPECT_EQ(tag.size(), 66U) << tag;
  const std::string again =
      answer_to(get("/page.js", "If-None-Match: " + tag + "\r\nConnection: close\r\n"));
  EXPECT_THAT(again, StartsWith("HTTP/1.1 304 Not Modified\r\n"));
  EXPECT_THAT(again, testing::EndsWith("\r\n\r\n")) << "no body";
  EXPECT_THAT(answer_to(get("/page.js", "If-None-Match: \"old\"\r\nConnection: close\r\n")),
              StartsWith("HTTP/1.1 200"));
}

TEST_F(Served, nothing_is_loaded_from_elsewhere_and_nothing_stands_inline) {
  const std::string html = page("/");
  EXPECT_THAT(html, Not(HasSubstr("://")));
  EXPECT_THAT(html, Not(HasSubstr(" style=")));
  EXPECT_THAT(html, Not(HasSubstr("<style")));
  EXPECT_THAT(html, Not(testing::ContainsRegex("<script>|onclick")));
  EXPECT_THAT(page("/page.css"), Not(HasSubstr("url(")));
}

struct Asked {
  const char* name;
  std::string request;  ///< HOST stands for the right one
  const char* begins;
};
class Refusing : public Served, public testing::WithParamInterface<Asked> {};

TEST_P(Refusing, says_why_and_ends_the_connection) {
  std::string request = GetParam().request;
  if (const auto at = request.find("HOST"); at != std::string::npos) {
    request.replace(at, 4, local());
  }
  const std::string answer = answer_to(request);
  EXPECT_THAT(answer, StartsWith(GetParam().begins));
  const auto body = answer.find("\r\n\r\n");
  ASSERT_NE(body, std::string::npos);
  EXPECT_THAT(answer, HasSubstr("Content-Type: application/problem+json"));
  const auto problem = nlohmann::json::parse(answer.substr(body), nullptr, false);
  ASSERT_TRUE(problem.is_object()) << answer;
  EXPECT_EQ(std::to_string(problem.value("status", 0)), answer.substr(9, 3));
  EXPECT_NE(problem.value("detail", ""), "");
  EXPECT_EQ(asked_, 0) << "nothing was looked at";
}

INSTANTIATE_TEST_SUITE_P(
    Requests, Refusing,
    testing::Values(
        Asked{"no_host", "GET / HTTP/1.1\r\n\r\n", "HTTP/1.1 400"},
        Asked{"two_hosts", "GET / HTTP/1.1\r\nHost: HOST\r\nHost: reef.lan\r\n\r\n",
              "HTTP/1.1 400"},
        // Rebinding: a foreign name that leads to this machine.
        Asked{"a_foreign_host", "GET /api/status HTTP/1.1\r\nHost: evil.example\r\n\r\n",
              "HTTP/1.1 421"},
        Asked{"the_owners_name_with_a_port", "GET / HTTP/1.1\r\nHost: reef.lan:8377\r\n\r\n",
              "HTTP/1.1 421"},
        Asked{"absolute_form", "GET http://reef.lan/ HTTP/1.1\r\nHost: HOST\r\n\r\n",
              "HTTP/1.1 404"},
        Asked{"traversal", "GET /../../etc/passwd HTTP/1.1\r\nHost: HOST\r\n\r\n", "HTTP/1.1 404"},
        Asked{"encoded_traversal", "GET /%2e%2e/ HTTP/1.1\r\nHost: HOST\r\n\r\n", "HTTP/1.1 404"},
        Asked{"a_slash_more", "GET //page.js HTTP/1.1\r\nHost: HOST\r\n\r\n", "HTTP/1.1 404"},
        Asked{"a_command", "POST /api/status HTTP/1.1\r\nHost: HOST\r\nContent-Length: 2\r\n\r\n{}",
              "HTTP/1.1 405"},
        Asked{"a_command_read", "GET /api/command HTTP/1.1\r\nHost: HOST\r\n\r\n", "HTTP/1.1 405"},
        Asked{"a_preflight", "OPTIONS /api/command HTTP/1.1\r\nHost: HOST\r\n\r\n", "HTTP/1.1 405"},
        Asked{"a_method_of_its_own", "GE /api/status HTTP/1.1\r\nHost: HOST\r\n\r\n",
              "HTTP/1.1 405"},
        Asked{"a_form",
              "POST /api/command HTTP/1.1\r\nHost: HOST\r\nContent-Type: text/plain\r\n"
              "Content-Length: 2\r\n\r\n{}",
              "HTTP/1.1 415"},
        Asked{"a_command_without_a_length",
              "POST /api/command HTTP/1.1\r\nHost: HOST\r\nContent-Type: application/json\r\n"
              "\r\n",
              "HTTP/1.1 411"},
        Asked{"a_command_of_100_mb",
              "POST /api/command HTTP/1.1\r\nHost: HOST\r\nContent-Type: application/json\r\n"
              "Content-Length: 104857600\r\n\r\n{",
              "HTTP/1.1 413"},
        Asked{"two_lengths",
              "POST /api/command HTTP/1.1\r\nHost: HOST\r\nContent-Type: application/json\r\n"
              "Content-Length: 2\r\nContent-Length: 3\r\n\r\n{}",
              "HTTP/1.1 400"},
        Asked{"a_body_with_get",
              "GET / HTTP/1.1\r\nHost: HOST\r\nContent-Length: 104857600\r\n\r\nxxxx",
              "HTTP/1.1 400"},
        // What one reads as no body and another as one: the rest would be the next request.
        Asked{"chunked",
              "GET / HTTP/1.1\r\nHost: HOST\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\n",
              "HTTP/1.1 400"},
        Asked{"not_chunked_at_the_end",
              "GET / HTTP/1.1\r\nHost: HOST\r\nTransfer-Encoding: chunked, gzip\r\n\r\n"
              "GET /api/status HTTP/1.1\r\nHost: HOST\r\n\r\n",
              "HTTP/1.1 400"},
        Asked{"sent_here_by_another_site",
              "GET /api/status HTTP/1.1\r\nHost: HOST\r\nSec-Fetch-Site: cross-site\r\n\r\n",
              "HTTP/1.1 403"},
        Asked{"sent_here_by_another_port",
              "GET /api/status HTTP/1.1\r\nHost: HOST\r\nSec-Fetch-Site: same-site\r\n\r\n",
              "HTTP/1.1 403"},
        Asked{"no_http", "hello\r\n\r\n", "HTTP/1.1 400"},
        Asked{"a_long_head",
              "GET / HTTP/1.1\r\nHost: HOST\r\nX: " + std::string(9000, 'x') + "\r\n\r\n",
              "HTTP/1.1 431"}),
    [](const auto& asked) { return asked.param.name; });

// RFC 9110, section 4.2.3: a browser leaves out the port of http.
TEST(Names, of_port_80_go_without_it_too) {
  Settings settings;
  settings.address = "192.0.2.5";
  settings.port = 80;
  EXPECT_THAT(names_of(settings), testing::IsSupersetOf({"127.0.0.1", "localhost:80", "localhost",
                                                         "[::1]", "192.0.2.5", "192.0.2.5:80"}));
  settings.port = 8080;
  EXPECT_THAT(names_of(settings), Not(testing::Contains("192.0.2.5")));
}

TEST_F(Served, a_command_with_the_token_is_obeyed) {
  const std::string answer =
      post("/api/command", R"({"command": "pause", "station": "reef", "minutes": 60})", kBearer);
  EXPECT_THAT(answer, StartsWith("HTTP/1.1 200"));
  EXPECT_THAT(answer, HasSubstr(R"({"sentence":"the page: pause of reef here"})"));
  EXPECT_EQ(obeyed_, 1);
}

TEST_F(Served, what_is_refused_is_a_conflict_with_its_reason) {
  const std::string answer =
      post("/api/command", R"({"command": "resume", "station": "reef"})", kBearer);
  EXPECT_THAT(answer, StartsWith("HTTP/1.1 409"));
  EXPECT_THAT(answer, HasSubstr("There is no pause."));
}

// Found by a review: it obeyed whatever the station's own socket does.
TEST_F(Served, takes_only_the_commands_of_a_page) {
  for (const char* other :
       {R"({"command": "run-attended", "station": "reef", "ml": 50})",
        R"({"command": "switch-all-off", "station": "reef"})",
        R"({"command": "relearn", "station": "reef"})", R"({"command": "back", "station": "reef"})",
        R"({"command": "work", "station": "reef", "minutes": 60})",
        R"({"command": "confirm-rate", "station": "reef", "ml": 50})",
        R"({"command": "away", "station": "reef", "minutes": 60, "ml": 5})",
        R"({"command": "status"})", R"({"command": "book"})"}) {
    EXPECT_THAT(post("/api/command", other, kBearer), StartsWith("HTTP/1.1 422")) << other;
  }
  EXPECT_EQ(obeyed_, 0);
  EXPECT_THAT(post("/api/command",
                   R"({"command": "record", "station": "reef", "what": "alkalinity", )"
                   R"("value": "8.1", "unit": "dKH"})",
                   kBearer),
              HasSubstr("record of reef here"));
}

TEST_F(Served, a_command_without_the_token_reaches_nobody) {
  const std::string pause = R"({"command": "pause", "station": "reef", "minutes": 60})";
  const auto begins = [&](const std::string& more) {
    return post("/api/command", pause, more).substr(9, 3);
  };
  EXPECT_EQ(begins(""), "401");
  EXPECT_EQ(begins("Authorization: Bearer wrong\r\n"), "401");
  EXPECT_EQ(begins("Authorization: Basic " + std::string{kToken} + "\r\n"), "401");
  EXPECT_EQ(begins(kBearer + "Origin: http://evil.example\r\n"), "403");
  EXPECT_EQ(begins(ours()), "401");
  EXPECT_EQ(obeyed_, 0);
  EXPECT_THAT(post("/api/command", pause, ""), HasSubstr("WWW-Authenticate: Bearer"));
}

TEST_F(Served, a_body_that_is_no_command_is_refused_in_one_sentence) {
  for (const char* body :
       {"", "pause", "[]", "{}", R"({"command": 1})", R"({"command": "sing", "station": "reef"})",
        R"({"command": "pause", "station": "reef"})",
        R"({"command": "pause", "station": "reef", "minutes": "60"})",
        R"({"command": "pause", "station": "reef", "minutes": 60, "more": 1})",
        R"({"command": "status"})", R"({"command": "found", "code": "delivery-refused"})",
        R"({"command": "test-alert"})", "{\"command\": \"pau\xff\"}"}) {
    const std::string answer = post("/api/command", body, kBearer);
    EXPECT_THAT(answer, StartsWith("HTTP/1.1 422")) << body;
    EXPECT_THAT(answer, HasSubstr("\"detail\":\"")) << body;
  }
  EXPECT_EQ(obeyed_, 0);
}

// RFC 6265, section 4.1.2: what a script must not read, and no other site may bring.
TEST_F(Served, a_token_that_is_typed_once_begins_a_session) {
  const std::string begun =
      post("/api/session", R"({"token": ")" + std::string{kToken} + "\"}", ours());
  ASSERT_THAT(begun, StartsWith("HTTP/1.1 200"));
  const auto cut = [&](const std::string& before, const char* end) {
    const auto at = begun.find(before) + before.size();
    return begun.substr(at, begun.find(end, at) - at);
  };
  EXPECT_THAT(begun, HasSubstr("; HttpOnly; SameSite=Strict; Path=/; Max-Age=43200\r\n"));
  const std::string cookie = "Cookie: " + cut("Set-Cookie: ", ";") + "\r\n";
  const std::string key = cut("\"key\":\"", "\"");
  EXPECT_THAT(answer_to(get("/api/session", cookie + "Connection: close\r\n")),
              HasSubstr("{\"key\":\"" + key + "\"}"));
  EXPECT_THAT(page("/api/session"), HasSubstr("{\"key\":null}"));
  const std::string pause = R"({"command": "pause", "station": "reef", "minutes": 60})";
  const std::string all = cookie + ours() + "Limegate-Key: " + key + "\r\n";
  EXPECT_THAT(post("/api/command", pause, all), StartsWith("HTTP/1.1 200"));
  EXPECT_THAT(post("/api/command", pause, cookie + ours()), StartsWith("HTTP/1.1 401"));
  EXPECT_EQ(obeyed_, 1);
  EXPECT_THAT(answer_to("DELETE /api/session HTTP/1.1\r\nHost: " + local() +
                        "\r\nConnection: close\r\n" + cookie + "\r\n"),
              HasSubstr("{\"key\":null}"));
  EXPECT_THAT(post("/api/command", pause, all), StartsWith("HTTP/1.1 401")) << "it is over";
}

TEST_F(Served, wrong_tokens_are_answered_for_a_while_only) {
  for (int i = 0; i < Doorkeeper::kWrongMost; ++i) {
    EXPECT_THAT(post("/api/session", R"({"token": "guess"})", ours()), StartsWith("HTTP/1.1 401"));
  }
  const std::string last = post("/api/session", R"({"token": "guess"})", ours());
  EXPECT_THAT(last, StartsWith("HTTP/1.1 429"));
  EXPECT_THAT(last, HasSubstr("Retry-After: 60"));
  for (const char* body : {"", "{}", R"({"token": 1})", R"({"token": "x", "more": 1})"}) {
    EXPECT_THAT(post("/api/session", body, ours()), StartsWith("HTTP/1.1 422")) << body;
  }
}

TEST_F(Served, the_owners_name_is_known) {
  EXPECT_THAT(answer_to("GET / HTTP/1.1\r\nHost: reef.lan\r\nConnection: close\r\n\r\n"),
              StartsWith("HTTP/1.1 200"));
  EXPECT_THAT(answer_to("GET /api/status?x=1 HTTP/1.0\r\nHost: reef.lan\r\n\r\n"),
              StartsWith("HTTP/1.1 200"))
      << "a proxy speaks HTTP/1.0, and a query is cut";
}

TEST_F(Served, a_connection_serves_one_request_after_another) {
  Peer peer{port_};
  peer.send(get("/api/status") + get("/openapi.json"));
  const std::string both = peer.read_until("\"openapi\"");
  EXPECT_THAT(both, HasSubstr("\"stations\""));
  EXPECT_THAT(both, HasSubstr("\"openapi\""));
}

// HTML Living Standard, section 9.2 (server-sent events).
TEST_F(Served, who_watches_is_shown_the_state_at_once_and_each_second) {
  Peer peer{port_};
  peer.send(get("/api/stream"));
  const std::string begun = peer.read_until("}\n\n");
  EXPECT_THAT(begun, StartsWith("HTTP/1.1 200 OK\r\n"));
  EXPECT_THAT(begun, HasSubstr("Content-Type: text/event-stream"));
  EXPECT_THAT(begun, HasSubstr("retry: 2000\n\nevent: state\ndata: {"));
  const auto ticking_until = std::chrono::steady_clock::now() + 20s;
  std::string next;
  while (next.find("}\n\n") == std::string::npos &&
         std::chrono::steady_clock::now() < ticking_until) {
    tick();
    std::this_thread::sleep_for(20ms);
    next += asked_ > 1 ? peer.read_until("}\n\n") : "";
  }
  EXPECT_THAT(next, StartsWith("event: state\ndata: {"));
}

TEST_F(Served, more_watchers_than_may_are_told_to_come_later) {
  std::vector<std::unique_ptr<Peer>> watching;
  for (std::size_t i = 0; i < Server::kWatchersMax; ++i) {
    watching.push_back(std::make_unique<Peer>(port_));
    watching.back()->send(get("/api/stream"));
    ASSERT_THAT(watching.back()->read_until("}\n\n"), HasSubstr("200 OK")) << i;
  }
  const std::string refused = answer_to(get("/api/stream"));
  EXPECT_THAT(refused, StartsWith("HTTP/1.1 503"));
  EXPECT_THAT(refused, HasSubstr("Retry-After: 30"));
  EXPECT_THAT(page("/api/status"), StartsWith("HTTP/1.1 200")) << "others are served";
}

TEST_F(Served, a_flood_is_answered_a_hundred_a_second) {
  constexpr int sent = 2 * Server::kRequestsASecond + 50;
  Peer peer{port_};
  std::string requests;
  for (int i = 0; i < sent; ++i) {
    requests += get("/api/status");
  }
  peer.send(requests);
  std::thread reader{[&] { (void)peer.read_until("never"); }};
  const auto until = std::chrono::steady_clock::now() + 30s;
  const auto reached = [&](int count) {
    while (asked_ < count && std::chrono::steady_clock::now() < until) {
      std::this_thread::sleep_for(5ms);
    }
    return asked_ >= count;
  };
  EXPECT_TRUE(reached(Server::kRequestsASecond));
  std::this_thread::sleep_for(200ms);
  EXPECT_EQ(asked_, Server::kRequestsASecond) << "the others wait for the next second";
  while (asked_ < sent && std::chrono::steady_clock::now() < until) {
    tick();
    std::this_thread::sleep_for(20ms);
  }
  EXPECT_EQ(asked_, sent) << "and come then";
  reader.join();
}

TEST_F(Served, two_hundred_who_say_nothing_keep_the_door_shut_for_ten_seconds_at_most) {
  std::vector<std::unique_ptr<Peer>> silent;
  silent.reserve(200);
  for (int i = 0; i < 200; ++i) {
    silent.push_back(std::make_unique<Peer>(port_));
  }
  // Each that was let in is cut, and the next one of the queue comes.
  const auto began = std::chrono::steady_clock::now();
  silent.resize(Server::kConnectionsMax);  // the others leave before they were let in
  std::string answer;
  while (answer.empty() && std::chrono::steady_clock::now() - began < 60s) {
    tick();
    Peer late{port_};
    late.send(get("/api/status", "Connection: close\r\n"));
    for (int i = 0; i < 100 && answer.empty(); ++i) {
      tick();
      answer = late.read_until("\"stations\"");
    }
  }
  EXPECT_THAT(answer, StartsWith("HTTP/1.1 200"));
}

TEST(Listening, a_port_in_use_is_said) {
  boost::asio::io_context loop{1};
  Settings settings;
  settings.port = 0;
  Server first{loop, settings, {}, {}};
  ASSERT_TRUE(first.listen());
  settings.port = first.port();
  Server second{loop, settings, {}, {}};
  const auto open = second.listen();
  ASSERT_FALSE(open);
  EXPECT_EQ(open.error(), "The page can't be served at 127.0.0.1:" + std::to_string(first.port()) +
                              ": Address already in use.");
  EXPECT_FALSE(second.is_open());
  EXPECT_EQ(objection_to(settings), open.error());
}

/// What a server at a Unix socket answers to one request.
std::string asked_at(const std::string& path, const std::string& request) {
  boost::asio::io_context loop;
  boost::asio::local::stream_protocol::socket socket{loop};
  boost::system::error_code error;
  socket.connect(boost::asio::local::stream_protocol::endpoint{path}, error);
  boost::asio::write(socket, boost::asio::buffer(request), error);
  std::string text;
  boost::asio::read(socket, boost::asio::dynamic_buffer(text), error);
  return text;
}

TEST(UnixSocket, serves_a_proxy_and_nobody_there_is_at_the_station_but_by_https) {
  const test::TempDir folder;
  Settings settings;
  settings.socket = folder.path() + "/page";
  settings.https_origin = "https://reef.lan";
  boost::asio::io_context loop;
  std::optional<station::Origin> by;
  Server::Parts parts;
  parts.overview = overview_of_a_reef;
  parts.command = [&](const auto&, const auto&, auto origin, const auto&) {
    by = origin;
    return station::Answer{station::Answer::Verdict::accepted, "Done."};
  };
  std::optional<Server> server;
  server.emplace(loop, settings, kToken, parts);
  const auto open = server->listen();
  ASSERT_TRUE(open) << open.error();
  EXPECT_EQ(objection_to(settings), "") << "and it is not taken away from who has it";
  struct stat what {};
  ASSERT_EQ(::stat(settings.socket.c_str(), &what), 0);
  EXPECT_EQ(what.st_mode & 0777, 0660U);
  std::thread thread{[&] {
    const auto guard = boost::asio::make_work_guard(loop);
    loop.run();
  }};
  const auto ask = [&](const std::string& host, const std::string& more) {
    const std::string body = R"({"command": "resume", "station": "reef"})";
    return asked_at(settings.socket,
                    "POST /api/command HTTP/1.1\r\nHost: " + host + "\r\n" + kBearer + more +
                        "Content-Type: application/json\r\nConnection: close\r\nContent-Length: " +
                        std::to_string(body.size()) + "\r\n\r\n" + body);
  };
  EXPECT_THAT(
      asked_at(settings.socket, "GET / HTTP/1.1\r\nHost: reef.lan\r\nConnection: close\r\n\r\n"),
      StartsWith("HTTP/1.1 200"));
  EXPECT_THAT(ask("elsewhere", ""), StartsWith("HTTP/1.1 421"));
  EXPECT_THAT(ask("127.0.0.1:8377", ""), StartsWith("HTTP/1.1 421"));
  EXPECT_THAT(ask("localhost", ""), StartsWith("HTTP/1.1 200"));
  EXPECT_EQ(by, station::Origin::afar);
  EXPECT_THAT(ask("reef.lan", "Origin: https://reef.lan\r\n"), StartsWith("HTTP/1.1 200"));
  EXPECT_EQ(by, station::Origin::station);
  boost::asio::post(loop, [&] {
    server.reset();
    loop.stop();
  });
  thread.join();
}

TEST(UnixSocket, follows_what_a_former_run_left_and_leaves_other_files_alone) {
  const test::TempDir folder;
  Settings settings;
  settings.socket = folder.path() + "/page";
  boost::asio::io_context loop;
  { EXPECT_TRUE((Server{loop, settings, {}, {}}.listen())); }
  EXPECT_TRUE((Server{loop, settings, {}, {}}.listen())) << "a socket is left over";
  settings.socket = folder.path() + "/file";
  test::write_file(settings.socket, "kept");
  const auto refused = Server{loop, settings, {}, {}}.listen();
  ASSERT_FALSE(refused);
  EXPECT_THAT(refused.error(), HasSubstr("what is there is no socket"));
  EXPECT_THAT(objection_to(settings), HasSubstr("what is there is no socket"));
  EXPECT_EQ(test::read_file(settings.socket), "kept");
  settings.socket = folder.path() + "/nowhere/page";
  EXPECT_FALSE((Server{loop, settings, {}, {}}.listen()));
}

}  // namespace
}  // namespace limegate::page
