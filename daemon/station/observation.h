#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <variant>

#include "rules/hold.h"
#include "units/time.h"

namespace limegate::station {

/// When an answer had arrived, which may be long before it is observed. Absent: just now.
using AnsweredAt = std::optional<Instant>;
/// A probe answered (in its unit), or did not (`value` absent).
struct ProbeSample {
  rules::Role role;
  std::optional<double> value;
  AnsweredAt at = {};
};
/// The input that observes a stirrer on its own timer answered, or did not.
struct StirrerSample {
  std::optional<bool> running;
  AnsweredAt at = {};
};
/// An input of the owner's rules answered (in its unit; 0 or 1 of a digital one), or did not. What
/// is not a number is an answer that makes no sense.
struct InputSample {
  std::size_t input;  ///< index in the rulebook; the station's own probes never come this way
  std::optional<double> value;
  AnsweredAt at = {};
};
struct PulseDurable {
  std::int64_t id;
};
struct StirDurable {
  std::int64_t id;
};
/// This entry of the keeper's book is written down.
struct BookEntryDurable {
  std::int64_t number;
};
/// The ledger could not do what was asked; it is not trusted until `LedgerSound`.
struct LedgerFault {
  std::string why;
};
struct LedgerSound {};

/// What became of a command to an outlet.
struct OutletReport {
  rules::OutletRole role;
  enum class Command { run, off, read_back } command;
  enum class Result {
    on,       ///< read back as on
    off,      ///< read back as off
    refused,  ///< nothing was sent; `why` says by whom and for what
    unknown,  ///< it may have been carried out
  } result;
  std::string why;
  /// Off since then, by an off of the driver's own; absent where a board ends its runs.
  std::optional<Instant> off_since = {};
  /// Of a run: when the outlet was given it.
  std::optional<Instant> handed_over = {};
  bool disk_too_slow = false;  ///< why it was refused: the guard could not write in time
};

/// The daemon is about to end: no pulse begins, and one that runs is ended.
struct Stopping {};

using Observation =
    std::variant<ProbeSample, StirrerSample, InputSample, PulseDurable, StirDurable,
                 BookEntryDurable, LedgerFault, LedgerSound, OutletReport, Stopping>;

}  // namespace limegate::station
