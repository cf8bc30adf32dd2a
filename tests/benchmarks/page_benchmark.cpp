// What the page costs: bytes and times of what a first view asks for, over a record of a year and
// of five, and what people who watch do to the daemon's step and its memory. The built daemon, a
// scripted slave on loopback, and a made-up record.
//
//   bench_page               prints all of it
//   bench_page serve YEARS   serves such a record and prints where, until its input ends
//                            (tests/benchmarks/first_view looks at it in a browser)
#include <array>
#include <chrono>
#include <cmath>
#include <csignal>
#include <cstdio>
#include <cstdlib>
#include <exception>
#include <fstream>
#include <memory>
#include <mutex>
#include <optional>
#include <stdexcept>
#include <string>
#include <string_view>
#include <thread>
#include <utility>
#include <vector>

#include <boost/asio/connect.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/read.hpp>
#include <boost/asio/write.hpp>
#include <fmt/format.h>

#include "benchmarks/reef_slave.h"
#include "journal/readings.h"
#include "support/places.h"
#include "support/program.h"
#include "support/slave.h"
#include "support/test_clocks.h"

namespace {

namespace journal = limegate::journal;
using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using boost::asio::ip::tcp;
using limegate::Duration;
using limegate::WallTime;
using limegate::test::Program;
using limegate::test::Slave;
using limegate::test::TempDir;
using Clock = std::chrono::steady_clock;

constexpr Duration kDay = 24h;
constexpr int kTimes = 5;

double ms_since(Clock::time_point begun) {
  return std::chrono::duration<double, std::milli>(Clock::now() - begun).count();
}

/// A port that nobody had a moment ago.
int free_port() {
  boost::asio::io_context loop;
  const tcp::acceptor probe{loop, {boost::asio::ip::make_address("127.0.0.1"), 0}};
  return probe.local_endpoint().port();
}

/// Two rows of each ten minutes that are older than 14 days, and of the rest one each ten seconds.
bool fill(const std::string& path, int years, WallTime now) {
  auto readings = journal::Readings::open(path, now);
  std::vector<journal::ReadingRow> rows;
  const auto put = [&](WallTime from, WallTime until, Duration every) {
    bool done = true;
    for (WallTime at = from; at < until && done; at += every) {
      const double wave = std::sin(limegate::in_seconds(at.time_since_epoch()) / 13750.0);
      rows.push_back({at, "reef", 8.15 + 0.1 * wave, 25.0 + 0.3 * wave, "good", "good", true});
      if (rows.size() > 20000) {
        done = readings->append(rows, {}).has_value();
        rows.clear();
      }
    }
    done = done && readings->append(rows, {}).has_value();
    rows.clear();
    return done;
  };
  return readings && put(now - years * 365 * kDay, now - 14 * kDay, 5min) &&
         put(now - 14 * kDay, now, 10s) && readings->thin_out(now, {}).has_value();
}

/// A daemon with a page before a record.
class Served {
 public:
  explicit Served(int years) : slave_(Slave::Transport::tcp, clock_), port_(free_port()) {
    limegate::test::add_reef(slave_, 1);
    slave_.on_request([this](const Slave::Event& event) {
      if (event.unit == 1 && event.address == 0 && event.phase == Slave::Event::Phase::before) {
        const std::lock_guard lock(mutex_);
        asked_at_.push_back(Clock::now());
      }
    });
    const std::string config = folder_.path() + "/config.toml";
    limegate::test::write_file(config, fmt::format(R"([daemon]
state_dir = "state"
[page]
listen = "127.0.0.1:{}"
[[bus]]
name = "bus"
type = "modbus-tcp"
host = "127.0.0.1"
tcp_port = {}
[[station]]
name = "reef"
water_volume_l = 400
evaporation_ml_per_day = 4000
reactor_bore_mm = 150
confirmed = ["settle-time", "relay-life"]
ph = {{ bus = "bus", unit = 1, address = 0, scale = 0.01 }}
temperature = {{ bus = "bus", unit = 1, address = 1, scale = 0.1 }}
pump = {{ bus = "bus", unit = 2, address = 0, timed_on_register = 10, rate_ml_per_min = 50, rate_measured = 2026-11-20 }}
stirrer = {{ bus = "bus", unit = 2, address = 1, timed_on_register = 11 }}
plan = {{ day_volume_ml = 4000, max_pulse_ml = 6 }}
limits = {{ settle_min = 30, proven_min = 1 }}
)",
                                                   port_, slave_.port()));
    const auto program = limegate::test::limegate_path();
    const auto prepared = limegate::test::run_program({program, "prepare", config});
    const WallTime now{
        std::chrono::duration_cast<Duration>(std::chrono::system_clock::now().time_since_epoch())};
    if (prepared.code != 0 || !fill(folder_.path() + "/state/readings.db", years, now)) {
      throw std::runtime_error(prepared.output + "\nNo record could be made.");
    }
    daemon_ = std::make_unique<Program>(std::vector{program, std::string{"run"}, config},
                                        folder_.path() + "/log");
    std::this_thread::sleep_for(3s);
  }
  ~Served() {
    daemon_->signal(SIGTERM);
    (void)daemon_->wait(20s);
  }
  Served(const Served&) = delete;
  Served(Served&&) = delete;
  Served& operator=(const Served&) = delete;
  Served& operator=(Served&&) = delete;

  [[nodiscard]] int port() const { return port_; }
  [[nodiscard]] pid_t pid() const { return daemon_->pid(); }
  /// When the probe was asked since the last call, as the slave saw it.
  [[nodiscard]] std::vector<Clock::time_point> asked_at() {
    const std::lock_guard lock(mutex_);
    return std::exchange(asked_at_, {});
  }

 private:
  TempDir folder_;
  limegate::test::MachineClock clock_;
  std::mutex mutex_;
  std::vector<Clock::time_point> asked_at_;
  Slave slave_;
  int port_;
  std::unique_ptr<Program> daemon_;
};

/// One connection, as a browser asks.
class Viewer {
 public:
  explicit Viewer(int port) : socket_(loop_), port_(port) {
    socket_.connect({boost::asio::ip::make_address("127.0.0.1"), static_cast<std::uint16_t>(port)});
  }
  void ask(const std::string& target) {
    boost::asio::write(socket_, boost::asio::buffer(fmt::format(
                                    "GET {} HTTP/1.1\r\nHost: 127.0.0.1:{}\r\nAccept-Encoding: "
                                    "gzip\r\nConnection: close\r\n\r\n",
                                    target, port_)));
  }
  /// The bytes of an answer with its head; none if it is not a good one.
  std::optional<std::size_t> answer() {
    std::string text;
    boost::system::error_code ended;
    boost::asio::read(socket_, boost::asio::dynamic_buffer(text), ended);
    return text.starts_with("HTTP/1.1 200") ? std::optional{text.size()} : std::nullopt;
  }
  /// Takes what has come.
  void drain() {
    std::array<char, 65536> part{};
    boost::system::error_code error;
    while (socket_.available(error) > 0 && !error) {
      socket_.read_some(boost::asio::buffer(part), error);
    }
  }

 private:
  boost::asio::io_context loop_;
  tcp::socket socket_;
  int port_;
};

bool first_view(int port, const std::vector<std::string>& targets, const char* what) {
  double best = 1e9;
  std::size_t bytes = 0;
  for (int i = 0; i < kTimes; ++i) {
    bytes = 0;
    const auto begun = Clock::now();
    for (const std::string& target : targets) {
      Viewer viewer{port};
      viewer.ask(target);
      const auto got = viewer.answer();
      if (!got) {
        std::printf("No answer to %s\n", target.c_str());
        return false;
      }
      bytes += *got;
    }
    best = std::min(best, ms_since(begun));
    std::this_thread::sleep_for(300ms);  // below a hundred requests a second
  }
  std::printf("  %-32s %8.1f ms %8.1f kB\n", what, best, static_cast<double>(bytes) / 1e3);
  return true;
}

bool bytes_and_times(int years) {
  const Served served{years};
  std::printf("a record of %d year%s\n", years, years == 1 ? "" : "s");
  const auto span = [](int hours) {
    return std::vector{fmt::format("/api/history?station=reef&hours={}", hours),
                       fmt::format("/api/events?station=reef&hours={}", hours)};
  };
  return first_view(served.port(),
                    {"/", "/page.css", "/chart.css", "/chart.js", "/past.js", "/page.js",
                     "/keeper.js", "/icon.svg"},
                    "the page with all its parts") &&
         first_view(served.port(), {"/api/status"}, "its numbers") &&
         first_view(served.port(), span(24), "a day") &&
         first_view(served.port(), span(24 * 365), "a year") &&
         (years == 1 || first_view(served.port(), span(24 * 1825), "five years"));
}

double kilobytes(pid_t pid, std::string_view key) {
  std::ifstream status(fmt::format("/proc/{}/status", pid));
  std::string word;
  double value = 0;
  while (status >> word && word != key) {
  }
  status >> value;
  return value;
}

/// How evenly the daemon asks its probe once a second, over so long.
void pace(Served& served, std::vector<std::unique_ptr<Viewer>>& watching, std::size_t silent,
          Duration lasting) {
  const auto until = Clock::now() + lasting;
  (void)served.asked_at();
  while (Clock::now() < until) {
    for (auto& viewer : watching) {
      viewer->drain();
    }
    std::this_thread::sleep_for(50ms);
  }
  const auto at = served.asked_at();
  double sum = 0, worst = 0;
  for (std::size_t i = 1; i < at.size(); ++i) {
    const double off =
        std::abs(std::chrono::duration<double, std::milli>(at[i] - at[i - 1]).count() - 1000.0);
    sum += off * off;
    worst = std::max(worst, off);
  }
  std::printf(
      "  %3zu who watch, %zu who never read: %6.2f ms rms, %6.2f ms at most of %zu; %.0f "
      "kB resident, %.0f anonymous\n",
      watching.size(), silent, std::sqrt(sum / static_cast<double>(at.size() - 1)), worst,
      at.size() - 1, kilobytes(served.pid(), "VmRSS:"), kilobytes(served.pid(), "RssAnon:"));
}

void watched() {
  Served served{1};
  std::printf("how far from a second apart the steps are, over two minutes each\n");
  std::vector<std::unique_ptr<Viewer>> watching, silent;
  const auto more = [&](std::vector<std::unique_ptr<Viewer>>& viewers, int count) {
    for (int i = 0; i < count; ++i) {
      viewers.push_back(std::make_unique<Viewer>(served.port()));
      viewers.back()->ask("/api/stream");
      std::this_thread::sleep_for(50ms);
    }
  };
  pace(served, watching, silent.size(), 120s);
  more(watching, 50);
  pace(served, watching, silent.size(), 120s);
  more(silent, 5);
  pace(served, watching, silent.size(), 120s);
}

int serve(int years) {
  const Served served{years};
  std::printf("http://127.0.0.1:%d/\n", served.port());
  std::fflush(stdout);
  while (std::getchar() != EOF) {
  }
  return 0;
}

}  // namespace

int main(int argc, char** argv) try {
  if (argc == 3 && std::string_view{argv[1]} == "serve") {
    return serve(std::atoi(argv[2]));
  }
  if (!bytes_and_times(1) || !bytes_and_times(5)) {
    return 1;
  }
  watched();
  return 0;
} catch (const std::exception& error) {
  std::fprintf(stderr, "bench_page: %s\n", error.what());
  return 1;
}
