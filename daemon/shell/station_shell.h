#pragma once

#include <functional>
#include <memory>
#include <optional>
#include <string>

#include "guard/guard.h"
#include "ports/clock.h"
#include "ports/outlet.h"
#include "shell/ledger_port.h"
#include "shell/noted_releases.h"
#include "station/station.h"

namespace limegate::shell {

/// Carries out the effects of one station's core and brings back what became of them.
/// Threads: the loop thread.
class StationShell {
 public:
  struct Parts {
    LedgerPort& ledger;
    const ports::Clock& clock;
    std::string boot;
    std::unique_ptr<ports::Outlet> pump;
    std::unique_ptr<ports::Outlet> stirrer;  ///< null where the stirrer is only observed
    std::unique_ptr<guard::RecordStore> store;
    std::optional<guard::Record> guard_record;  ///< of an earlier run
    /// Called for everything that happens, and when the ledger failed.
    std::function<void(const std::string& station, const station::Event&)> raise;
    std::function<void(const std::string& why)> ledger_failed;
  };

  StationShell(const station::Settings& settings, Parts parts);

  /// Builds the core from what the ledger says. Without a history (the ledger could not be read)
  /// everything counts as full and dosing is held, and what waits for a person and what the keeper
  /// asked for are those of the guard's copy; a later call with one begins anew.
  void begin(const std::optional<station::History>& history);
  /// The ledger was read again after a fault.
  void recover(const station::History& history);

  void step();
  void observe(const station::Observation& observation);
  [[nodiscard]] station::Answer command(const station::Command& command, station::Origin origin);
  void observe_stirrer(const station::StirrerSample& sample);

  /// Switches every outlet off and replies whether all are confirmed to be off.
  void all_off(std::function<void(bool)> reply);

  [[nodiscard]] const std::string& name() const { return settings_.name; }
  [[nodiscard]] const station::Station& core() const { return *core_; }
  /// Commands to the outlets that have not been answered.
  [[nodiscard]] int outstanding() const { return outstanding_; }

 private:
  void execute(const station::Effects& effects);
  void release_what_was_noted();
  void carry_out(const station::AppendPulse& effect);
  void carry_out(const station::AppendStir& effect);
  void carry_out(const station::ClosePulse& effect) { write(effect, nullptr); }
  void carry_out(const station::CloseStir& effect) { write(effect, nullptr); }
  void carry_out(const station::StoreLatch& effect);
  void carry_out(const station::StoreWish& effect);
  void carry_out(const station::ForgetWish& effect);
  void carry_out(const station::StoreQuarter& effect) { write(effect, nullptr); }
  void carry_out(const station::ForgetCourse& effect) { write(effect, nullptr); }
  void carry_out(const station::StoreEffect& effect) { write(effect, nullptr); }
  void carry_out(const station::StoreCycle& effect) { write(effect, nullptr); }
  void carry_out(const station::ForgetCycles& effect) { write(effect, nullptr); }
  void carry_out(const station::StoreAnchor& effect) { write(effect, nullptr); }
  void carry_out(const station::StoreReference& effect) { write(effect, nullptr); }
  void carry_out(const station::StoreVolumeInForce& effect) { write(effect, nullptr); }
  void carry_out(const station::StoreBookEntry& effect);
  void carry_out(const station::Run& effect);
  void carry_out(const station::SwitchOff& effect);
  void carry_out(const station::ReadBack& effect);
  void carry_out(const station::Raise& effect);
  void write(const station::Entry& entry, std::function<void()> written);
  [[nodiscard]] guard::Guard::Reply report(rules::OutletRole role,
                                           station::OutletReport::Command command);

  station::Settings settings_;
  Parts parts_;
  guard::Guard guard_;
  guard::Kept kept_;  ///< what the ledger is to know of latches and wishes: the guard's copy
  std::optional<station::Station> core_;
  bool kept_changed_ = false;
  NotedReleases noted_;
  bool blind_ = false;  ///< the core was begun without the ledger
  /// Accepted meanwhile: the newest of each origin.
  struct Asked {
    station::SetDayVolume volume;
    station::Origin origin;
  };
  std::vector<Asked> asked_blindly_;
  int outstanding_ = 0;
};

}  // namespace limegate::shell
