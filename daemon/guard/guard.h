#pragma once

#include <cstdint>
#include <functional>
#include <string>

#include "guard/record.h"
#include "ports/clock.h"
#include "ports/outlet.h"
#include "units/time.h"

namespace limegate::guard {

/// What became of a command.
struct Outcome {
  enum class Result {
    on,       ///< read back as on
    off,      ///< read back as off
    refused,  ///< nothing was sent
    unknown,  ///< it may have been carried out
  } result = Result::unknown;
  std::string why;                          ///< of a refusal or an unknown outcome, one sentence
  std::optional<Instant> off_since = {};    ///< as the outlet says (ports/outlet.h)
  std::optional<Instant> handed_over = {};  ///< of a run: when the outlet was given it
  bool disk_too_slow = false;               ///< refused because the record was not written in time
};

/// The second interlock. It alone holds a station's outlets, knows nothing of the rules, and lets a
/// pulse through only if the pump reads off, the stirrer reads off, the settle time has passed by
/// its own persisted record, and the pulse's id was never sent before.
/// Threads: the loop thread.   Errors: as outcomes; each reply comes exactly once.
class Guard {
 public:
  struct Settings {
    Duration settle = std::chrono::minutes{60};
    Duration pulse_max = std::chrono::seconds{120};
    Duration stir_max = std::chrono::minutes{30};
  };
  struct Parts {
    ports::Outlet& pump;
    ports::Outlet* stirrer;  ///< null where the stirrer is only observed
    RecordStore& store;
    const ports::Clock& clock;
  };
  using Reply = std::function<void(Outcome)>;
  /// The record is written before anything is switched on, and within this.
  static constexpr Duration kSavedWithin{std::chrono::seconds{5}};

  /// `known` is the record of an earlier run, if one could be read. Without one, or with one of
  /// another boot, or of a running stirrer, the stir ended just now.
  Guard(const Settings& settings, const Parts& parts, std::string boot,
        const std::optional<Record>& known);

  /// Runs the pump once for `duration`.
  void pulse(std::int64_t id, Duration duration, Instant send_before, Reply reply);
  /// Runs the stirrer once for `duration`.
  void stir(Duration duration, Instant send_before, Reply reply);

  /// Off at once. Whatever was under way and has not been sent is refused.
  void pump_off(Reply reply);
  void stirrer_off(Reply reply);
  void read_pump(Reply reply);
  void read_stirrer(Reply reply);

  /// What is to be kept beside the ledger from now on. Written at once if it is not kept already.
  void keep(Kept kept);

  /// The input of an observed stirrer: anything but a fresh "not running" is taken as running.
  /// `at` = when the input answered.
  void observe_stirrer(Record::Stirrer state, Instant at);

 private:
  enum class Under { nothing, pulse, stir };

  [[nodiscard]] std::string objection_to_pulse(std::int64_t id, Duration duration,
                                               Instant send_before) const;
  [[nodiscard]] std::string objection_to_stirrer() const;
  /// `record` gives what is to be written, as of when both outlets have read off.
  void check_outlets_then_save(std::function<Record()> record, std::function<void()> run,
                               const Reply& reply);
  void send(ports::Outlet& outlet, Duration duration, Instant send_before, const Reply& reply);
  void refuse(const Reply& reply, std::string why);
  [[nodiscard]] bool overtaken(std::uint64_t ticket) const { return ticket != ticket_; }
  void note_stirrer_off();

  Settings settings_;
  Parts parts_;
  Record record_;
  bool kept_durably_ = false;     ///< `record_.kept`, as far as it was told
  Under under_ = Under::nothing;  ///< a command between its first check and its outcome
  std::uint64_t ticket_ = 0;      ///< an off takes a new one; older ones are void
  Instant observed_at_;
};

}  // namespace limegate::guard
