#pragma once

#include <atomic>
#include <functional>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <vector>

#include "support/program.h"
#include "support/shared_clock.h"
#include "support/slave.h"
#include "units/time.h"

namespace limegate::test {

/// A station on the bench: a scripted slave with two probes and a relay board, the built daemon in
/// front of it, and a clock that both share. The scenario is our own: 400 L, 50 mL/min.
///
/// That clock goes only while the test waits for something: what is looked at or changed between
/// two waits is so at one moment, however long a busy machine keeps the test from running.
class Bench {
 public:
  struct Plan {
    double day_volume_ml = 2000;
    double max_pulse_ml = 20;
    int stir_run_min = 15;
    int stir_every_min = 60;
    int settle_min = 20;
    int poll_s = 1;
    int reply_timeout_ms = 800;     ///< a busy machine is no dead slave
    bool observed_stirrer = false;  ///< input 8 of the board shows it; it is not switched
    bool contact_feedback = false;  ///< the contacts are read back through inputs
    bool untimed = false;           ///< the board ends no run by itself
    std::string more = {};          ///< lines appended to [station.limits]
  };
  static constexpr double kRateMlPerMin = 50.0;
  static constexpr int kProbes = 1;  ///< units on the bus
  static constexpr int kBoard = 2;
  static constexpr std::uint16_t kPump = 0;  ///< coils, with timed registers 10 and 11
  static constexpr std::uint16_t kStirrer = 1;
  static constexpr std::uint16_t kPumpTimer = 10;
  static constexpr std::uint16_t kStirrerInput = 8;

  explicit Bench(const Plan& plan, Slave::Transport transport = Slave::Transport::tcp);

  void prepare();
  /// The daemon does its first step, and then time stands still. `env` = settings of its
  /// environment.
  void start(const std::vector<std::string>& env = {});
  void kill();
  /// SIGTERM, and the exit code.
  int stop();
  /// From now on, where it stands still now, time goes on as it does in life.
  void go_live();
  /// No serial write of the daemon comes back from now on.
  void block_writes() const { write_file(clock_.path() + ".block", ""); }
  /// Runs `limegate off`; the exit code.
  int off();

  /// Lets time pass until `done`; false if it never came. The limit is real time, for a busy
  /// machine: only a failing test uses it up.
  bool wait_for(const std::function<bool()>& done);
  /// Lets this much of the shared time pass, in whole seconds; false if the daemon stopped.
  bool let_pass(Duration duration);
  /// Lets time pass until a pulse begins, and not beyond its first moment; false if none does.
  bool let_pulse_begin();
  /// Time passes also while the test does other things, until it waits again.
  void run_freely() { clock_.grant_ticks(-1); }

  /// pH that the probe shows from now on; a small ripple goes with it, as water has one.
  void show_ph(double ph) { ph_ = ph; }

  void show_temperature(double celsius) { temperature_ = celsius; }

  [[nodiscard]] bool pump_on() { return slave_.is_on(kBoard, kPump); }
  [[nodiscard]] bool stirrer_on() { return slave_.is_on(kBoard, kStirrer); }
  /// What truly flowed since the beginning, by the slave's own log.
  [[nodiscard]] double delivered_ml();
  /// What the ledger counts, over all rows.
  [[nodiscard]] double counted_ml() const;
  [[nodiscard]] std::int64_t ledger_number(const std::string& sql) const;
  /// The same of the readings and events.
  [[nodiscard]] std::int64_t record_number(const std::string& sql) const;

  /// Called in the slave's thread for each request, beside what the bench itself does.
  void also_on_request(std::function<void(const Slave::Event&)> callback);

  [[nodiscard]] Slave& slave() { return slave_; }
  [[nodiscard]] SharedClock& clock() { return clock_; }
  [[nodiscard]] Program& daemon() { return *daemon_; }
  [[nodiscard]] std::string log() const { return read_file(folder_.path() + "/log"); }
  [[nodiscard]] const std::string& config() const { return config_; }
  [[nodiscard]] std::string state_dir() const { return folder_.path() + "/state"; }

 private:
  [[nodiscard]] std::string config_text(const Plan& plan, Slave::Transport transport);
  bool stand_still();
  [[nodiscard]] bool ended();

  TempDir folder_;
  SharedClock clock_;
  Slave slave_;
  std::atomic<double> ph_{8.20};
  std::atomic<double> temperature_{25.5};
  std::mutex callback_mutex_;
  std::function<void(const Slave::Event&)> callback_;
  std::atomic<bool> stop_at_pulse_{false};
  std::string config_;
  std::unique_ptr<Program> daemon_;
};

/// What a slave's log of outlet changes must obey: pump and stirrer never on together, the pump
/// never within `settle` of the stirrer, and never more than the allowances in any sliding window.
/// Returns one line for each violation.
struct Rules {
  Duration settle;
  double hour_ml;
  double day_ml;
};
[[nodiscard]] std::vector<std::string> violations(const std::vector<OutletChange>& log,
                                                  const Rules& rules);

}  // namespace limegate::test
