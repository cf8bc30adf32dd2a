#include "app/bench.h"

#include <algorithm>
#include <cmath>
#include <csignal>
#include <numbers>
#include <stdexcept>
#include <string_view>

#include <fmt/format.h>
#include <sqlite3.h>

#include "support/places.h"
#include "support/wait_until.h"

namespace limegate::test {
namespace {

double seconds(Duration duration) { return std::chrono::duration<double>(duration).count(); }

/// For what takes a busy machine its time: a week of a station is some minutes then.
constexpr std::chrono::seconds kPatience{900};

}  // namespace

Bench::Bench(const Plan& plan, Slave::Transport transport)
    : clock_(folder_.path() + "/clock"),
      slave_(transport, clock_),
      config_(folder_.path() + "/reef.toml") {
  slave_.set_holding(kProbes, 0, 820);
  slave_.set_holding(kProbes, 1, 255);
  slave_.set_input(kBoard, kStirrerInput, false);
  for (const std::uint16_t outlet : {kPump, kStirrer}) {
    RelayOutlet relay;
    relay.unit = kBoard;
    relay.address = outlet;
    if (plan.contact_feedback) {
      relay.feedback_input = outlet;
    }
    if (!plan.untimed) {
      relay.timed_register = static_cast<std::uint16_t>(kPumpTimer + outlet);
    }
    slave_.add_outlet(relay);
  }
  slave_.on_request([this](const Slave::Event& event) {
    const std::lock_guard lock{callback_mutex_};
    if (callback_) {
      callback_(event);
    }
    const bool written = event.phase == Slave::Event::Phase::after && event.function > 4;
    if (stop_at_pulse_ && written && event.unit == kBoard && event.address == kPumpTimer) {
      clock_.grant_ticks(0);  // before the answer: time waits for that anyhow
      stop_at_pulse_ = false;
    }
    if (event.phase == Slave::Event::Phase::before && event.unit == kProbes) {
      // Without a ripple the probe would rightly count as stuck after a while.
      const double t = seconds(clock_.now().mono.time_since_epoch());
      const double ripple = 0.011 * std::sin(2 * std::numbers::pi * t / 600.0);
      slave_.set_holding(kProbes, 0,
                         static_cast<std::uint16_t>(std::lround((ph_ + ripple) * 100.0)));
      slave_.set_holding(
          kProbes, 1,
          static_cast<std::uint16_t>(std::lround(10 * temperature_ + 2 * std::sin(t / 9000.0))));
    }
  });
  write_file(config_, config_text(plan, transport));
}

namespace {

constexpr std::string_view kConfig = R"(
[daemon]
state_dir = "state"
poll_s = {}
[[bus]]
name = "bench"
{}
reply_timeout_ms = {}
[[station]]
name = "reef"
water_volume_l = 400
evaporation_ml_per_day = 4000
reactor_bore_mm = 150
confirmed = ["settle-time", "short-pulse", "relay-life", "pump-share", "pump-rate"]
[station.ph]
bus = "bench"
unit = 1
address = 0
scale = 0.01
[station.temperature]
bus = "bench"
unit = 1
address = 1
scale = 0.1
[station.pump]
bus = "bench"
unit = 2
address = 0
{}rate_ml_per_min = {}
rate_measured = 2026-11-20
{}
[station.stirrer]
{}
run_min = {}
every_min = {}
[station.plan]
day_volume_ml = {}
max_pulse_ml = {}
[station.limits]
settle_min = {}
proven_min = 1
{}
)";

}  // namespace

std::string Bench::config_text(const Plan& plan, Slave::Transport transport) {
  const std::string port =
      transport == Slave::Transport::tcp
          ? fmt::format("type = \"modbus-tcp\"\nhost = \"127.0.0.1\"\ntcp_port = {}", slave_.port())
          : fmt::format("type = \"modbus-rtu\"\npath = \"{}\"\nbaud = 115200", slave_.path());
  const auto feedback = [&](int input) {
    return plan.contact_feedback
               ? fmt::format("feedback_table = \"discrete_input\"\nfeedback_address = {}", input)
               : std::string{};
  };
  const auto timer = [&](int outlet) {
    return plan.untimed ? std::string{"allow_untimed = true\n"}
                        : fmt::format("timed_on_register = {}\n", kPumpTimer + outlet);
  };
  const std::string stirrer =
      plan.observed_stirrer
          ? std::string{"mode = \"observed\"\nbus = \"bench\"\nunit = 2\naddress = 8"}
          : "bus = \"bench\"\nunit = 2\naddress = 1\n" + timer(kStirrer) + feedback(kStirrer);
  return fmt::format(kConfig, plan.poll_s, port, plan.reply_timeout_ms, timer(kPump), kRateMlPerMin,
                     feedback(kPump), stirrer, plan.stir_run_min, plan.stir_every_min,
                     plan.day_volume_ml, plan.max_pulse_ml, plan.settle_min, plan.more);
}

void Bench::also_on_request(std::function<void(const Slave::Event&)> callback) {
  const std::lock_guard lock{callback_mutex_};
  callback_ = std::move(callback);
}

void Bench::prepare() {
  const Ran ran = run_program({limegate_path(), "prepare", config_});
  if (ran.code != 0) {
    throw std::runtime_error(ran.output);
  }
}

void Bench::start(const std::vector<std::string>& env) {
  clock_.grant_ticks(0);
  std::vector<std::string> argv{"/usr/bin/env"};
  argv.insert(argv.end(), env.begin(), env.end());
  argv.insert(argv.end(), {bench_daemon_path(), clock_.path(), config_});
  daemon_ = std::make_unique<Program>(argv, folder_.path() + "/log");
}

void Bench::kill() {
  daemon_->signal(SIGKILL);
  (void)daemon_->wait(std::chrono::seconds{10});
}

int Bench::stop() {
  run_freely();  // a signal is looked at between two steps
  daemon_->signal(SIGTERM);
  return daemon_->wait(std::chrono::seconds{120}).value_or(-1);
}

void Bench::go_live() { write_file(clock_.path() + ".live", ""); }

int Bench::off() { return run_program({limegate_path(), "off", config_}).code; }

bool Bench::wait_for(const std::function<bool()>& done) {
  if (!done()) {
    run_freely();
  }
  return wait_until(done, kPatience) && stand_still();
}

bool Bench::let_pass(Duration duration) {
  if (!stand_still()) {
    return false;
  }
  // The end must be known before the ticks are granted, and be within their reach.
  const Instant end = clock_.now().mono + duration;
  clock_.grant_ticks(duration / std::chrono::seconds{1});
  const auto over = [&] { return clock_.now().mono >= end; };
  return wait_until([&] { return over() || ended(); }, kPatience) && over() && stand_still();
}

bool Bench::let_pulse_begin() {
  stop_at_pulse_ = true;
  run_freely();
  return wait_until([&] { return !stop_at_pulse_; }, kPatience) && stand_still();
}

/// Until the daemon has nothing to do but to wait for time. One that has ended has nothing to do.
bool Bench::stand_still() {
  clock_.grant_ticks(0);
  const std::int64_t missed = clock_.ticks_missed();
  return wait_until([&] { return clock_.ticks_missed() > missed || ended(); }, kPatience);
}

bool Bench::ended() { return !daemon_ || daemon_->wait(std::chrono::milliseconds{0}).has_value(); }

double Bench::delivered_ml() {
  slave_.advance();
  return seconds(slave_.on_time(kBoard, kPump)) * kRateMlPerMin / 60.0;
}

namespace {

std::int64_t number_in(const std::string& file, const std::string& sql) {
  sqlite3* db = nullptr;
  sqlite3_stmt* statement = nullptr;
  std::int64_t number = -1;
  if (sqlite3_open_v2(file.c_str(), &db, SQLITE_OPEN_READWRITE, nullptr) == SQLITE_OK &&
      sqlite3_busy_timeout(db, 2000) == SQLITE_OK &&
      sqlite3_prepare_v2(db, sql.c_str(), -1, &statement, nullptr) == SQLITE_OK &&
      sqlite3_step(statement) == SQLITE_ROW) {
    number = sqlite3_column_int64(statement, 0);
  }
  sqlite3_finalize(statement);
  sqlite3_close_v2(db);
  return number;
}

}  // namespace

std::int64_t Bench::ledger_number(const std::string& sql) const {
  return number_in(state_dir() + "/ledger.db", sql);
}

std::int64_t Bench::record_number(const std::string& sql) const {
  return number_in(state_dir() + "/readings.db", sql);
}

double Bench::counted_ml() const {
  return static_cast<double>(
             ledger_number("SELECT coalesce(sum(counted_ul), 0) FROM (SELECT counted_ul FROM "
                           "pulses UNION ALL SELECT counted_ul FROM past_pulses)")) /
         1000.0;
}

namespace {

/// A stretch of time in which the pump ran.
struct Flow {
  Instant from, to;
};

std::string at(Instant when) { return fmt::format("{:.1f} s", seconds(when.time_since_epoch())); }

void check_windows(const std::vector<Flow>& flows, const Rules& rules,
                   std::vector<std::string>& found) {
  const auto flowed = [&](Instant from, Instant to) {
    double sum = 0;
    for (const Flow& flow : flows) {
      const Duration part = std::min(flow.to, to) - std::max(flow.from, from);
      sum += std::max(0.0, seconds(part)) * Bench::kRateMlPerMin / 60.0;
    }
    return sum;
  };
  // The fullest window of a sum of intervals ends where one of them ends.
  for (const Flow& flow : flows) {
    const double hour = flowed(flow.to - std::chrono::hours{1}, flow.to);
    const double day = flowed(flow.to - std::chrono::hours{24}, flow.to);
    if (hour > rules.hour_ml + 0.01) {
      found.push_back(fmt::format("{:.2f} mL within an hour, at {}", hour, at(flow.to)));
    }
    if (day > rules.day_ml + 0.01) {
      found.push_back(fmt::format("{:.2f} mL within 24 h, at {}", day, at(flow.to)));
    }
  }
}

}  // namespace

std::vector<std::string> violations(const std::vector<OutletChange>& log, const Rules& rules) {
  std::vector<std::string> found;
  std::vector<Flow> flows;
  struct Since {
    bool known = false;
    Instant at{};
  };
  Since pump;
  Since stirrer;
  Since rested;
  for (const OutletChange& change : log) {
    const Instant now = change.at.mono;
    if (change.address == Bench::kPump) {
      if (change.on && !pump.known) {
        pump = {true, now};
        if (stirrer.known) {
          found.push_back("pump on while the stirrer runs, at " + at(now));
        }
        if (rested.known && now - rested.at < rules.settle) {
          found.push_back(fmt::format("pump on {:.1f} s after the stirrer, at {}",
                                      seconds(now - rested.at), at(now)));
        }
      } else if (!change.on && pump.known) {
        flows.push_back({pump.at, now});
        pump.known = false;
      }
    } else if (change.on && !stirrer.known) {
      stirrer = {true, now};
      if (pump.known) {
        found.push_back("stirrer on while the pump runs, at " + at(now));
      }
    } else if (!change.on && stirrer.known) {
      stirrer.known = false;
      rested = {true, now};
    }
  }
  check_windows(flows, rules, found);
  return found;
}

}  // namespace limegate::test
