// The control socket of the built daemon, by the built command line and by rude clients.

#include <chrono>

#include <fmt/format.h>
#include <gtest/gtest.h>
#include <nlohmann/json.hpp>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/un.h>
#include <unistd.h>

#include "app/bench.h"
#include "app/running.h"
#include "support/places.h"
#include "support/wait_until.h"

namespace limegate::test {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using nlohmann::json;

/// A client that speaks for itself.
class Raw {
 public:
  explicit Raw(const std::string& path) : socket_(::socket(AF_UNIX, SOCK_STREAM, 0)) {
    sockaddr_un address{};
    address.sun_family = AF_UNIX;
    path.copy(static_cast<char*>(address.sun_path), sizeof address.sun_path - 1);
    EXPECT_EQ(::connect(socket_, reinterpret_cast<const sockaddr*>(&address), sizeof address), 0);
    const timeval soon{0, 100000};
    (void)::setsockopt(socket_, SOL_SOCKET, SO_RCVTIMEO, &soon, sizeof soon);
  }
  ~Raw() { ::close(socket_); }
  Raw(const Raw&) = delete;
  Raw& operator=(const Raw&) = delete;
  Raw(Raw&&) = delete;
  Raw& operator=(Raw&&) = delete;

  void send(const std::string& text) const {
    (void)::send(socket_, text.data(), text.size(), MSG_NOSIGNAL | MSG_DONTWAIT);
  }
  /// What came so far; absent once the other side has closed.
  [[nodiscard]] std::optional<std::string> received() const {
    std::array<char, 65536> room{};
    const ssize_t count = ::recv(socket_, room.data(), room.size(), 0);
    if (count == 0 || (count < 0 && errno == ECONNRESET)) {
      return std::nullopt;
    }
    return std::string{room.data(), count < 0 ? 0U : static_cast<std::size_t>(count)};
  }

 private:
  int socket_;
};

TEST(Control, status_says_what_the_daemon_does_and_why) {
  Running bench;
  const Ran people = bench.control({"status"});
  EXPECT_EQ(people.code, 0);
  EXPECT_TRUE(contains(people.output, "The limewater settles")) << people.output;
  const json status = bench.status();
  EXPECT_EQ(status["station"], "reef");
  EXPECT_EQ(status["gate_open"], false);
  EXPECT_NEAR(status["ph"]["value"].get<double>(), 8.2, 0.05);
  EXPECT_EQ(status["ph"]["quality"], "good");
  EXPECT_EQ(status["day_volume_ml"], 1200.0);
  EXPECT_EQ(bench.stop(), 0);
  EXPECT_NE(::access(bench.socket_path().c_str(), F_OK), 0) << "the socket goes with the daemon";
}

TEST(Control, status_and_alerts_are_of_one_station_where_that_is_asked_for) {
  Running bench;
  const Ran one = bench.control({"status", "--station", "reef"});
  EXPECT_EQ(one.code, 0);
  EXPECT_TRUE(contains(one.output, "The limewater settles")) << one.output;
  EXPECT_EQ(bench.control({"alerts", "--station", "reef"}).code, 0);
  for (const char* command : {"status", "alerts"}) {
    const Ran none = bench.control({command, "--station", "nowhere"});
    EXPECT_EQ(none.code, 2) << command;
    EXPECT_TRUE(contains(none.output, "--station must name a station of the file: reef"))
        << none.output;
  }
  Raw client{bench.socket_path()};
  client.send(R"({"jsonrpc":"2.0","id":1,"method":"status","params":{"station":"other"}})"
              "\n");
  bench.run_freely();
  std::string answer;
  ASSERT_TRUE(wait_until([&] {
    answer += client.received().value_or("");
    return contains(answer, "\n");
  }));
  EXPECT_TRUE(json::parse(answer)["result"]["overview"]["stations"].empty()) << answer;
}

// Found by an attack: three of them were answered in the words of the wire's protocol.
TEST(Control, a_command_without_a_station_where_there_are_several_is_told_their_names) {
  Running bench;
  const std::string both = bench.config() + ".both.toml";
  write_file(both, read_file(bench.config()) +
                       "\n[[station]]\nname = \"frags\"\nsimulated = true\nwater_volume_l = 120\n"
                       "evaporation_ml_per_day = 1200\nreactor_bore_mm = 80\n[station.pump]\n"
                       "rate_ml_per_min = 25\n[station.stirrer]\n[station.plan]\n"
                       "day_volume_ml = 500\n");
  bench.run_freely();
  for (const std::vector<std::string>& words : {std::vector<std::string>{"pause"},
                                                {"resume"},
                                                {"stir"},
                                                {"relearn"},
                                                {"release", "ph-second-ceiling"},
                                                {"volume", "--per-day", "100mL"}}) {
    std::vector<std::string> all{limegate_path(), words.front(), both};
    all.insert(all.end(), words.begin() + 1, words.end());
    const Ran ran = run_program(all);
    EXPECT_EQ(ran.code, 4) << words.front() << ran.output;
    EXPECT_TRUE(contains(ran.output, "command to one station: name it. There is: reef."))
        << ran.output;
  }
}

// "goes to the cap that check printed": without max_day_ml, and not a tenth of a millilitre
// further.
TEST(Control, volume_goes_as_far_as_check_says) {
  Running bench;
  const Ran check = run_program({limegate_path(), "check", bench.config(), "--json"});
  ASSERT_EQ(check.code, 0) << check.output;
  const double cap = json::parse(check.output)["stations"][0]["volume_up_to_ml"];
  EXPECT_GT(cap, 1200.0);
  const Ran page = run_program({limegate_path(), "check", bench.config()});
  EXPECT_TRUE(contains(page.output, fmt::format("'limegate volume' may go to {:.1f} mL", cap)))
      << page.output;
  const Ran most = bench.control({"volume", "--per-day", fmt::format("{:.1f}mL", cap)});
  EXPECT_EQ(most.code, 0) << most.output;
  const Ran more = bench.control({"volume", "--per-day", fmt::format("{:.1f}mL", cap + 0.1)});
  EXPECT_EQ(more.code, 4) << more.output;
  EXPECT_NEAR(bench.status()["day_volume_ml"].get<double>(), cap, 0.051);
}

TEST(Control, is_for_the_owner_and_the_group_only) {
  Running bench;
  struct stat about {};
  ASSERT_EQ(::stat(bench.socket_path().c_str(), &about), 0);
  EXPECT_EQ(about.st_mode & 0777U, 0660U);
}

TEST(Control, every_command_is_in_the_record_with_its_sender_and_its_sentence) {
  Running bench;
  EXPECT_EQ(bench.control({"pause", "--for", "90min"}).code, 0);
  EXPECT_EQ(bench.control({"stir"}).code, 4);
  EXPECT_TRUE(contains(bench.log(), "event=command By control socket, user root: pause. Paused"));
  EXPECT_TRUE(contains(bench.log(), "event=command-refused By control socket, user root: stir"));
  // Each command lets some seconds pass, on a busy machine many.
  const double left = bench.status()["pause_s"].get<double>();
  EXPECT_GT(left, 3600);
  EXPECT_LE(left, 5400);
  EXPECT_EQ(bench.stop(), 0);
}

TEST(Control, a_pause_and_a_volume_last_over_a_restart) {
  Running bench;
  EXPECT_EQ(bench.control({"volume", "--per-day", "0.6L"}).code, 0);
  EXPECT_EQ(bench.control({"pause", "--for", "5h"}).code, 0);
  // The answer does not wait for the disk.
  ASSERT_TRUE(bench.wait_for(
      [&] { return bench.ledger_number("SELECT count(*) FROM wishes WHERE what = 3") == 1; }));
  bench.kill();
  bench.start();
  ASSERT_TRUE(bench.let_pass(10s));
  const json status = bench.status();
  EXPECT_EQ(status["day_volume_ml"], 600.0);
  EXPECT_GT(status["pause_s"].get<double>(), 10000);
  ASSERT_TRUE(bench.let_pass(2h + 30min));
  EXPECT_EQ(bench.delivered_ml(), 0.0);
  EXPECT_EQ(bench.control({"resume"}).code, 0);
  ASSERT_TRUE(bench.let_pass(3h));
  EXPECT_GT(bench.delivered_ml(), 0.0);
  EXPECT_EQ(bench.stop(), 0);
}

TEST(Control, an_attended_run_flows_and_counts_in_full) {
  Running bench;
  EXPECT_EQ(bench.control({"run-attended", "--volume", "30mL"}).code, 4) << "it settles";
  EXPECT_EQ(bench.control({"volume", "--per-day", "0mL"}).code, 0);
  ASSERT_TRUE(bench.let_pass(35min));
  Ran ran = bench.control({"run-attended", "--volume", "30mL"});
  for (int i = 0; ran.code == 4 && i < 24; ++i) {  // commands take time: a stir may have come
    ASSERT_TRUE(bench.let_pass(5min));
    ran = bench.control({"run-attended", "--volume", "30mL"});
  }
  ASSERT_EQ(ran.code, 0) << ran.output;
  ASSERT_TRUE(bench.let_pass(6min));
  EXPECT_NEAR(bench.delivered_ml(), 30.0, 1.0);
  EXPECT_GE(bench.counted_ml(), bench.delivered_ml() - 1e-6);
  EXPECT_TRUE(contains(bench.log(), "The attended run is over")) << bench.log();
  EXPECT_EQ(bench.stop(), 0);
}

TEST(Control, a_socket_that_something_else_took_the_place_of_comes_back) {
  Running bench;
  const std::string path = bench.state_dir() + "/control";
  ASSERT_EQ(::unlink(path.c_str()), 0);
  write_file(path, "no socket");
  ASSERT_TRUE(bench.let_pass(30s));
  EXPECT_TRUE(wait_until([&] {
    EXPECT_TRUE(bench.let_pass(1s));
    return bench.control({"status"}).code == 0;
  }));
  EXPECT_EQ(bench.stop(), 0);
}

TEST(Control, a_latched_hold_is_released_only_with_its_cause_gone) {
  Running bench;
  for (const double ph : {8.35, 8.45, 8.55, 8.62}) {  // in steps that are no jump
    bench.show_ph(ph);
    ASSERT_TRUE(bench.let_pass(2min));
  }
  const Ran early = bench.control({"release", "ph-second-ceiling"});
  EXPECT_EQ(early.code, 4);
  EXPECT_TRUE(contains(early.output, "not gone")) << early.output;
  bench.show_ph(8.36);
  ASSERT_TRUE(bench.let_pass(20min));
  EXPECT_EQ(bench.status()["alerts"][0]["id"], "ph-second-ceiling");
  EXPECT_EQ(bench.control({"acknowledge"}).code, 0);
  EXPECT_EQ(bench.status()["alerts"][0]["seen"], true);
  EXPECT_EQ(bench.control({"release", "ph-second-ceiling"}).code, 0);
  ASSERT_TRUE(bench.let_pass(5s));
  EXPECT_TRUE(bench.status()["alerts"].empty());
  EXPECT_EQ(bench.ledger_number("SELECT count(*) FROM latches"), 0);
  EXPECT_EQ(bench.stop(), 0);
}

TEST(Control, a_client_that_never_reads_hurts_only_itself) {
  Running bench;
  const Raw watcher{bench.socket_path()};
  watcher.send(R"({"jsonrpc":"2.0","id":1,"method":"status","params":{"watch":true}})"
               "\n");
  const Raw flood{bench.socket_path()};
  for (int n = 0; n < 2000; ++n) {
    flood.send(R"({"jsonrpc":"2.0","id":1,"method":"status"})"
               "\n");
  }
  ASSERT_TRUE(bench.let_pass(3h)) << bench.log();
  EXPECT_EQ(bench.control({"status"}).code, 0);
  EXPECT_GT(bench.delivered_ml(), 0.0);
  EXPECT_EQ(bench.stop(), 0);
}

TEST(Control, a_client_that_has_left_is_free_at_once) {
  Running bench;
  for (int n = 0; n < 30; ++n) {
    EXPECT_EQ(bench.control({"status"}).code, 0) << "one after the other, the " << n << "th";
  }
}

TEST(Control, where_all_places_are_taken_the_oldest_idle_guest_gives_way) {
  Running bench;
  std::vector<std::unique_ptr<Raw>> guests;
  guests.reserve(12);
  for (int n = 0; n < 12; ++n) {
    guests.push_back(std::make_unique<Raw>(bench.socket_path()));
  }
  EXPECT_EQ(bench.control({"status"}).code, 0) << "nobody is locked out";
  int turned_away = 0;
  for (const auto& guest : guests) {
    turned_away += guest->received() ? 0 : 1;
  }
  EXPECT_EQ(turned_away, 5);
}

TEST(Control, watchers_lock_nobody_out) {
  Running bench;
  std::vector<std::unique_ptr<Raw>> watchers;
  for (int n = 0; n < 8; ++n) {
    watchers.push_back(std::make_unique<Raw>(bench.socket_path()));
    watchers.back()->send(R"({"jsonrpc":"2.0","id":1,"method":"status","params":{"watch":true}})"
                          "\n");
  }
  ASSERT_TRUE(bench.let_pass(3s));
  EXPECT_EQ(bench.control({"pause"}).code, 0);
}

TEST(Control, nonsense_is_answered_and_a_line_without_end_closes_the_door) {
  Running bench;
  const Raw rude{bench.socket_path()};
  rude.send("\xff\xfe nonsense\n");
  ASSERT_TRUE(bench.let_pass(5s));
  EXPECT_TRUE(contains(rude.received().value_or(""), "-32700"));
  const Raw endless{bench.socket_path()};
  endless.send(std::string(100000, 'x'));
  ASSERT_TRUE(bench.let_pass(5s));
  EXPECT_FALSE(endless.received());
  EXPECT_EQ(bench.control({"status"}).code, 0);
}

TEST(Control, wrong_words_never_reach_the_daemon) {
  Running bench;
  for (const auto& words :
       std::vector<std::vector<std::string>>{{"pause", "--for", "soon"},
                                             {"pause", "--for", "2"},
                                             {"volume", "--per-day", "1cup"},
                                             {"volume"},
                                             {"release"},
                                             {"run-attended", "--volume", ""}}) {
    const Ran ran = bench.control(words);
    EXPECT_EQ(ran.code, 2) << words[0] << ran.output;
    EXPECT_FALSE(ran.output.empty());
  }
  EXPECT_EQ(bench.control({"pause", "--station", "nowhere"}).code, 4);
  EXPECT_FALSE(contains(bench.log(), "event=command "));
}

TEST(Control, without_a_daemon_says_so) {
  Bench bench{Running::plan()};
  bench.prepare();
  const Ran ran = run_program({limegate_path(), "status", bench.config()});
  EXPECT_EQ(ran.code, 1);
  EXPECT_TRUE(contains(ran.output, "Start it first")) << ran.output;
  const Ran release = run_program(
      {limegate_path(), "release", bench.config(), "ph-second-ceiling", "--station", "nowhere"});
  EXPECT_EQ(release.code, 2);
  EXPECT_TRUE(contains(release.output, "--station must name a station of the file: reef"))
      << release.output;
}

// Found by an attack: the daemon dosed, and no command reached it.
TEST(Control, a_state_directory_too_deep_for_its_socket_is_refused) {
  const TempDir folder;
  const std::string file = folder.path() + "/reef.toml";
  const auto check_with = [&](std::size_t length) {
    const std::string deep = "/" + std::string(length - 1, 'd');
    std::string text = read_file(source_dir() + "/config/examples/simulated.toml");
    const auto at = text.find("state_dir = ");
    text.replace(at, text.find('\n', at) - at, "state_dir = \"" + deep + "\"");
    write_file(file, text);
    return run_program({limegate_path(), "check", file});
  };
  // Linux: 108 bytes with the zero at the end (unix(7)); "/control" has 8.
  EXPECT_EQ(check_with(99).code, 0);
  const Ran ran = check_with(100);
  EXPECT_EQ(ran.code, 2);
  EXPECT_TRUE(contains(ran.output, "daemon.state_dir: is too long")) << ran.output;
}

}  // namespace
}  // namespace limegate::test
