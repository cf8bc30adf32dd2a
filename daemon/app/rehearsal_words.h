#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include <nlohmann/json_fwd.hpp>

#include "app/report_tables.h"
#include "config/config.h"
#include "rehearsal/campaign.h"
#include "rehearsal/rehearsal.h"

namespace limegate::app {

/// What a rehearsal came to, in the keeper's words, for a terminal.
[[nodiscard]] std::string words_of(const rehearsal::Outcome& outcome,
                                   const config::Station& station);
[[nodiscard]] nlohmann::json json_of(const rehearsal::Outcome& outcome,
                                     const config::Station& station);

// What a page says in the same words.

/// "day 2, 14:05".
[[nodiscard]] std::string course_time(Duration since_start);
/// "2 days", "36 h", "90 min".
[[nodiscard]] std::string lasting_words(Duration lasting);
/// What goes wrong, how much of it, and its name.
[[nodiscard]] std::string fault_words(const rehearsal::Fault& fault);
/// What needs a word beside the volumes, and what became of powder and water; sentences.
[[nodiscard]] std::vector<std::string> remarks_on(const rehearsal::Outcome& outcome);
/// Alerts that would have come.
[[nodiscard]] AlertTable alerts_of(const rehearsal::Outcome& outcome);

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
