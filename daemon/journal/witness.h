#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "dosing/account.h"
#include "station/effects.h"
#include "station/records.h"
#include "units/time.h"

namespace limegate::journal {

/// Where a ledger lives.
struct Home {
  std::string machine;  ///< /etc/machine-id
  std::string path;     ///< of the state directory, without links
  friend bool operator==(const Home&, const Home&) = default;
};

/// What is known of a station's ledger outside its directory: if that is put back, moved or copied,
/// this is not, or it shows.
struct Witness {
  Home home;
  std::string boot;  ///< of the machine, when this was written
  std::int64_t newest_pulse = 0;
  dosing::Stamp reserved;            ///< of that pulse; means nothing without one
  std::vector<std::string> latches;  ///< codes: what waits for a person
  /// What the keeper asked for; and so often this or a latch had changed. "limegate-witness-1" has
  /// neither.
  std::vector<station::Wish> wishes = {};
  std::int64_t changes = 0;

  /// One line of text with a CRC-32.
  [[nodiscard]] std::string to_line() const;
  /// Absent if the line is not whole.
  [[nodiscard]] static std::optional<Witness> from_line(const std::string& line);
};

/// Whether a witness is to be written anew once this is in the ledger.
[[nodiscard]] bool changes_witness(const station::Entry& entry);

/// Writes it to a file, atomically and synced. Blocks. False if that failed.
[[nodiscard]] bool write_witness(const std::string& path, const Witness& witness);

/// Absent if the file is missing or damaged.
[[nodiscard]] std::optional<Witness> read_witness(const std::string& path);

}  // namespace limegate::journal
