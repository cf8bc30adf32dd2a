#pragma once

#include <cstdint>
#include <deque>
#include <functional>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "ports/clock.h"
#include "rehearsal/fault.h"
#include "rehearsal/memory_ledger.h"
#include "rehearsal/oracle.h"
#include "shell/station_shell.h"
#include "simulator/tank.h"
#include "station/settings.h"

namespace limegate::rehearsal {

/// What came of it.
struct Outcome {
  Duration lasted{};
  Millilitres planned, counted, delivered;  ///< delivered: what truly flowed
  double ph_low = 14, ph_high = 0;          ///< true, in the water at the probe
  double rise_30min = 0;                    ///< the worst true one
  double powder_g_start = 0, powder_g_end = 0;
  double powder_carried_g = 0;  ///< undissolved
  Dkh alkalinity_start, alkalinity_end;
  std::map<std::string, Duration> held;  ///< by code of the hold
  struct Told {
    Duration at;
    station::Event event;
  };
  std::vector<Told> alerts;
  std::size_t pulses = 0, stirs = 0, restarts = 0;
  Duration longest_silence{};  ///< without limewater that truly flowed
  std::vector<std::string> violations;
};

/// One station's core, guard and shell in virtual time against a simulated tank with scripted
/// faults: what is rehearsed is what runs, but for the buses and the disk.
/// Threads: one owner.   The same plan gives the same outcome.
class Rehearsal {
 public:
  struct Plan {
    station::Settings settings;
    simulator::TankSettings tank;
    Duration lasting = std::chrono::hours{24 * 7};
    std::vector<Fault> faults;
    /// Whether somebody comes morning and evening and releases what is latched and mended.
    enum class Keeper { away, comes_twice_a_day } keeper = Keeper::away;
    WallTime start{std::chrono::hours{24 * 20454}};  ///< midnight of 2026-01-01, UTC
  };
  explicit Rehearsal(Plan plan);

  [[nodiscard]] Outcome run();

 private:
  struct Clock : ports::Clock {
    [[nodiscard]] Moment now() const override { return moment; }
    Moment moment;
  };

  void start_program();
  void second();
  void begin(const Fault& fault);
  void end(const Fault& fault);
  void sample();
  void watch();
  void recover();
  void visit();
  void run_posted();
  [[nodiscard]] bool active(Fault::Kind kind) const { return active_.count(kind) > 0; }
  [[nodiscard]] double value_of(Fault::Kind kind) const { return active_.at(kind).value; }

  Plan plan_;
  Clock clock_;
  Duration world_{};  ///< true time since the start
  simulator::Tank tank_;
  MemoryLedger ledger_;
  std::optional<guard::Record> guard_record_;
  Oracle oracle_;
  std::deque<std::function<void()>> posted_;
  std::unique_ptr<shell::StationShell> program_;  ///< absent while it is down
  std::string boot_ = "boot-1";
  std::map<Fault::Kind, Fault> active_;
  Duration started_at_{};
  std::optional<Duration> evidence_at_;
  std::optional<double> stuck_ph_;
  bool ledger_faulty_ = false;
  Duration reopen_at_{};
  double delivered_before_ = 0;
  Duration flowed_at_{};
  std::deque<double> half_hour_;  ///< true pH each minute
  Outcome outcome_;
};

}  // namespace limegate::rehearsal
