#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "dosing/account.h"
#include "guard/record.h"
#include "shell/ledger_port.h"
#include "station/history.h"

namespace limegate::rehearsal {

/// The ledger of one rehearsed station, in memory. It survives a crash of the program, as the disk
/// does: a row is there from its write on.
class MemoryLedger : public shell::LedgerPort {
 public:
  void write(const std::string& station, const shell::Entry& entry, WallTime now,
             Reply reply) override;

  /// From now on nothing can be written (or it can again).
  enum class Disk { sound, full };
  void set_disk(Disk disk) { disk_ = disk; }
  [[nodiscard]] bool sound() const { return disk_ == Disk::sound; }

  /// What a start in this boot of the machine reads.
  [[nodiscard]] station::History history(Moment now) const;
  /// The machine boots anew: its monotonic clock begins at zero.
  void reboot() { lifetime_before_boot_ = newest_lifetime_, last_stir_.reset(); }

  /// What is counted over all rows.
  [[nodiscard]] Millilitres counted() const { return counted_; }
  [[nodiscard]] std::int64_t newest_pulse_id() const { return newest_pulse_; }

 private:
  void take(const station::AppendPulse& entry);
  void take(const station::ClosePulse& entry);
  void take(const station::AppendStir& entry);
  void take(const station::CloseStir& entry);
  void take(const station::StoreLatch& entry);
  void take(const station::StoreWish& entry);
  void take(const station::ForgetWish& entry);
  void see(dosing::Stamp stamp);

  Disk disk_ = Disk::sound;
  std::map<std::int64_t, dosing::Dose> pulses_;  ///< of two days: older ones age out of every sum
  std::int64_t newest_pulse_ = 0;
  Millilitres counted_;
  std::int64_t newest_stir_ = 0;
  std::optional<dosing::Stamp> stir_start_;
  std::optional<station::History::LastStir> last_stir_;
  std::vector<std::string> latches_;
  std::vector<station::Wish> wishes_;
  Duration lifetime_before_boot_{};
  Duration newest_lifetime_{};
};

/// The guard's record, in memory.
class MemoryStore : public guard::RecordStore {
 public:
  explicit MemoryStore(std::optional<guard::Record>& record) : record_(record) {}
  void save(const guard::Record& record, Reply reply) override {
    record_ = record;
    reply(Saved::durably);
  }

 private:
  std::optional<guard::Record>& record_;
};

}  // namespace limegate::rehearsal
