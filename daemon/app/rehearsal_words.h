#pragma once

#include <cstdint>
#include <string>

#include <nlohmann/json_fwd.hpp>

#include "config/config.h"
#include "rehearsal/campaign.h"
#include "rehearsal/rehearsal.h"

namespace limegate::app {

/// What a rehearsal came to, in the keeper's words; the same on the terminal and in the report.
[[nodiscard]] std::string words_of(const rehearsal::Outcome& outcome,
                                   const config::Station& station);
[[nodiscard]] nlohmann::json json_of(const rehearsal::Outcome& outcome,
                                     const config::Station& station);

/// A file that could not be written just now (`errno`), in one line.
[[nodiscard]] std::string not_written(const std::string& path);

/// What a campaign was asked for.
struct Campaign {
  std::string file, station;
  double days = 0;
  std::uint64_t seed = 0;
  std::size_t seeds = 0;
};
/// With a command that replays each course that broke a promise.
[[nodiscard]] std::string words_of(const rehearsal::CampaignOutcome& sum, const Campaign& given);
[[nodiscard]] nlohmann::json json_of(const rehearsal::CampaignOutcome& sum,
                                     const std::string& station);

}  // namespace limegate::app
