#pragma once

#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "units/quantities.h"
#include "units/time.h"

namespace limegate::guard {

/// What must outlive the ledger: a second copy, by a path of its own. The guard keeps it as it was
/// told and goes by none of it.
struct Kept {
  struct Wish {
    int what = 0;
    Millilitres volume;  ///< kept in whole microlitres, rounded up
    Duration lasting{};
    Duration asked_lifetime{};
    WallTime asked_wall;
    friend bool operator==(const Wish&, const Wish&) = default;
  };
  std::vector<std::string> latches;  ///< codes, without spaces
  std::vector<Wish> wishes;
  friend bool operator==(const Kept&, const Kept&) = default;
};

/// What the guard must still know after a crash. It is kept apart from the ledger on purpose.
struct Record {
  std::string boot;  ///< of the machine, when this was written
  std::int64_t newest_pulse_id = 0;
  enum class Stirrer { resting, running } stirrer = Stirrer::resting;
  Instant stir_ended;             ///< resting: when it was seen off; means nothing in another boot
  std::optional<Kept> kept = {};  ///< absent in a line of the first format, which had none

  /// One line of text with a CRC-32: of the second format, of the first without what is kept.
  [[nodiscard]] std::string to_line() const;
  /// Absent if the line is not whole.
  [[nodiscard]] static std::optional<Record> from_line(const std::string& line);
};

/// Where the record is kept.
/// Threads: `save` is called from the loop thread and replies there, exactly once; it never blocks.
class RecordStore {
 public:
  enum class Saved { durably, failed };
  using Reply = std::function<void(Saved)>;
  virtual ~RecordStore() = default;
  virtual void save(const Record& record, Reply reply) = 0;
};

/// Writes the record to a file, atomically and synced. Blocks; not for the loop thread.
[[nodiscard]] RecordStore::Saved write_record(const std::string& path, const Record& record);

/// Reads it; absent if the file is missing or damaged.
[[nodiscard]] std::optional<Record> read_record(const std::string& path);

}  // namespace limegate::guard
