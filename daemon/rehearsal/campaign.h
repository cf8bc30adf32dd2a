#pragma once

#include <cstdint>
#include <functional>
#include <map>
#include <vector>

#include <tl/expected.hpp>

#include "rehearsal/rehearsal.h"

namespace limegate::rehearsal {

/// Faults drawn at random: about one in ten hours, of every kind, each healing by itself; none
/// begins in the last two days of a course that lasts at least four, so that dosing must go on. In
/// some courses one creeps for most of the time, and through some slow ones the program dies again
/// and again.
/// The same seed draws the same faults.
[[nodiscard]] std::vector<Fault> random_faults(std::uint64_t seed, Duration lasting,
                                               const station::Settings& settings);

/// What is ordinary and yet differs from tank to tank: water changes, meals, skimmate, seasons, how
/// the reactor is drawn, and the day of the year on which it begins.
struct Habits {
  simulator::TankSettings tank;
  WallTime start;
};
/// The same seed draws the same habits; some tanks are as `usual`.
[[nodiscard]] Habits random_habits(std::uint64_t seed, const Habits& usual);

/// What many rehearsals came to.
struct CampaignOutcome {
  std::size_t courses = 0;
  std::vector<Fault> drawn;  ///< of the first one that ended
  Habits habits;             ///< of the same
  Duration lasted{};
  std::map<Fault::Kind, std::size_t> faults;
  std::size_t pulses = 0, restarts = 0, alerts = 0;
  double ph_high = 0;
  Duration longest_silence{};
  Exposures exposures;
  struct Broken {
    std::uint64_t seed;
    std::string promise;
  };
  std::vector<Broken> broken;  ///< by seed
  /// The same in whatever order parts are added, but for `drawn` and
  /// `habits`.
  void add(const CampaignOutcome& part);
};

/// Rehearses `plan` with the faults and habits of each seed from `first_seed` on, over all cores,
/// and a keeper who comes twice a day. `progress` is called now and then, in the caller's thread,
/// with how many are done. Error: as of a rehearsal.
[[nodiscard]] tl::expected<CampaignOutcome, std::string> run_campaign(
    const Rehearsal::Plan& plan, std::uint64_t first_seed, std::size_t count,
    const std::function<void(std::size_t)>& progress);

}  // namespace limegate::rehearsal
