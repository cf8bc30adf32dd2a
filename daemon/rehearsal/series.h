#pragma once

#include <cstdint>
#include <optional>
#include <ostream>
#include <string>
#include <utility>
#include <vector>

#include "rehearsal/rehearsed_probes.h"
#include "rules/hold.h"
#include "simulator/tank.h"
#include "units/time.h"

namespace limegate::rehearsal {

/// The course of a rehearsal as comma-separated values (RFC 4180), a row for each minute: what is
/// true, what the probes show, and what the program does.
/// Units: in the columns' names.   Threads: one owner.
class Series {
 public:
  /// The first line of a file; several stations may follow in one.
  static void begin(std::ostream& out);

  Series(std::ostream& out, std::string station) : out_(out), station_(std::move(station)) {}

  struct Second {
    Duration world{};  ///< since the start
    WallTime at;       ///< by the world's own clock
    RehearsedProbes::Shown shown;
    Millilitres flowed;
    const rules::Holds* holds = nullptr;  ///< null: the program is down
  };
  void second(const Second& second, const simulator::Tank& tank);

 private:
  std::ostream& out_;
  std::string station_;
  double delivered_ml_ = 0;  ///< of this minute, as all that follows
  std::uint32_t stirred_s_ = 0, down_s_ = 0;
  std::vector<std::string> codes_;  ///< of the holds that stood, in their order
};

}  // namespace limegate::rehearsal
