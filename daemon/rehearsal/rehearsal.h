#pragma once

#include <array>
#include <cstdint>
#include <deque>
#include <functional>
#include <map>
#include <memory>
#include <optional>
#include <ostream>
#include <string>
#include <vector>

#include <tl/expected.hpp>

#include "ports/clock.h"
#include "rehearsal/exposure.h"
#include "rehearsal/fault.h"
#include "rehearsal/oracle.h"
#include "rehearsal/outcome.h"
#include "rehearsal/rehearsed_disk.h"
#include "rehearsal/rehearsed_outlet.h"
#include "rehearsal/rehearsed_probes.h"
#include "rehearsal/series.h"
#include "shell/station_shell.h"
#include "simulator/tank.h"
#include "station/settings.h"

namespace limegate::rehearsal {

/// One station's core, guard, shell and ledger in virtual time against a simulated tank with
/// scripted faults: what is rehearsed is what runs, but for the buses.
/// Threads: one owner.   The same plan gives the same outcome.
class Rehearsal {
 public:
  struct Plan {
    station::Settings settings;
    simulator::TankSettings tank;
    /// What the boards do by themselves.
    struct Boards {
      bool pump_timed = true, stirrer_timed = true;  ///< a run ends by the board's own timer
      /// Outlets fall off when nothing was heard for so long; absent: they never do.
      std::optional<Duration> communication_loss;
    } boards;
    Duration lasting = std::chrono::hours{24 * 7};
    std::vector<Fault> faults;
    /// Whether somebody comes morning and evening, releases what is mended, and primes the lines.
    enum class Keeper { away, comes_twice_a_day } keeper = Keeper::away;
    WallTime start{std::chrono::hours{24 * 20454}};  ///< midnight of 2026-01-01, UTC
    std::string boot = "boot";                       ///< its boots are named after this
    std::string scratch = scratch_place();           ///< where the ledger lives meanwhile
    /// The ledger, prepared, and the guard's record in places of their own, where they stay.
    std::optional<RehearsedDisk::Files> files = {};
    journal::Home home{"rehearsed", "/state"};  ///< of that ledger
    /// Called each second after the program's step while it runs, and for all that it tells.
    std::function<void(const station::Station& core, Moment now)> each_second = {};
    std::function<void(const station::Event&)> on_event = {};
    std::ostream* series = nullptr;  ///< gets a row each minute; null: none
  };
  explicit Rehearsal(Plan plan);

  /// Error: the scratch directory could not be used, one line.
  [[nodiscard]] tl::expected<Outcome, std::string> run();
  /// The tank as it is now.
  [[nodiscard]] const simulator::Tank& tank() const { return tank_; }

 private:
  using Part = simulator::Tank::Part;
  struct Clock : ports::Clock {
    [[nodiscard]] Moment now() const override { return moment; }
    Moment moment;
  };

  void start_program();
  [[nodiscard]] std::unique_ptr<ports::Outlet> outlet(Part part);
  [[nodiscard]] RehearsedOutlet::Condition condition(Part part) const;
  void commanded(Part part, Duration duration);
  void told(const station::Event& event);
  void tell(const std::vector<std::string>& notes);
  void ledger_failed(const std::string& why);
  /// False from the moment on at which the program dies.
  [[nodiscard]] bool acts();
  void bury_program();
  void come_back();
  void note_row(std::int64_t pulse);
  void second();
  void run_program();
  void begin(const Fault& fault);
  void end(const Fault& fault);
  /// `fault` = the fault's value; absent: the world as it was before.
  void change_world(Fault::Kind kind, std::optional<double> fault);
  void begin_and_end_faults();
  void boards();
  void observed_stirrer();
  void usual_inputs();
  void recover();
  void visit();
  [[nodiscard]] bool accepted(const station::Command& command,
                              station::Origin origin = station::Origin::station);
  void from_afar();
  void set_day_volume(double share);
  void pause();
  void release(const std::string& code);
  void switch_all_off();
  void test_alkalinity();
  void watch();
  void judge_second();
  void watch_exposure();
  void run_posted();
  void post_late(std::function<void()> what);
  void finish();
  [[nodiscard]] bool healed() const;
  [[nodiscard]] bool waits_for_person() const;
  [[nodiscard]] journal::Boot boot() const { return {boot_, clock_.moment, plan_.home}; }

  Plan plan_;
  Clock clock_;
  Duration world_{};  ///< true time since the start
  simulator::Tank tank_;
  RehearsedProbes probes_;
  RehearsedProbes::Shown shown_;
  std::unique_ptr<RehearsedDisk> disk_;
  Oracle oracle_;
  std::vector<std::string> waits_for_person_;  ///< codes that the program holds now
  ExposureWatch exposure_;
  std::deque<std::function<void()>> posted_;
  struct Late {
    Duration due;
    std::function<void()> what;
  };
  std::deque<Late> late_;                         ///< answers of boards that take their time
  std::unique_ptr<shell::StationShell> program_;  ///< absent while it is down
  std::string boot_;
  ActiveFaults active_;
  std::optional<Fault> dies_of_;  ///< what waits to put the program down
  std::int64_t acts_left_ = 0;    ///< before it does
  bool dead_ = false;             ///< it did, within this second
  Duration down_until_{}, healed_at_{};
  Duration heard_at_{};                                 ///< when a board heard something last
  std::map<Part, Duration> driver_ends_;                ///< of runs that no board ends
  std::array<std::optional<Instant>, 2> driver_off_{};  ///< pump, stirrer: since the driver's off
  std::string recorded_boot_;  ///< in which what was seen was written down, once a minute
  std::optional<station::SeenBefore> recorded_;
  Duration recorded_at_{};
  std::optional<double> tested_;   ///< dKH, as the fault says; to be tested again at its end
  bool volume_from_afar_ = false;  ///< it is to be set back to the station's
  bool ledger_faulty_ = false, slots_kept_ = true;
  Duration reopen_at_{};
  double rate_factor_ = 1.0;  ///< what the pump gives, in times of its rate
  double delivered_before_ = 0, carried_before_ = 0, flow_unexplained_ml_ = 0;
  Millilitres flowed_;            ///< truly, in this second
  std::deque<double> half_hour_;  ///< true pH each minute
  Duration newest_sent_at_{};
  std::int64_t counted_pulse_ = 0;
  Millilitres counted_of_pulse_;
  std::optional<Series> series_;
  Outcome outcome_;
};

}  // namespace limegate::rehearsal
