#pragma once

#include <string>
#include <vector>

#include <nlohmann/json_fwd.hpp>
#include <tl/expected.hpp>

#include "app/rehearsal_words.h"
#include "rehearsal/campaign.h"

namespace limegate::app {

/// Of which program, file and length of course a campaign is: parts are merged only where these are
/// the same.
struct CampaignOf {
  std::string version, config;  ///< of the program; a sum over the file's text
  double days = 0;
  friend bool operator==(const CampaignOf&, const CampaignOf&) = default;
};
[[nodiscard]] CampaignOf campaign_of(const std::string& config_text, double days);

/// One station's part of a campaign, as `rehearse --seeds --json` prints it.
[[nodiscard]] nlohmann::json part_of(const rehearsal::CampaignOutcome& sum, const Campaign& given,
                                     const CampaignOf& of);

/// One station's campaign, merged from parts.
struct Merged {
  Campaign given;  ///< the first seed, and how many courses there are
  rehearsal::CampaignOutcome sum;
};
/// Reads the files and adds what belongs together, station by station. Blocks.
/// Error: a line that names the file and what does not fit: no such part, another program, config
/// or length of course, or a seed that is there twice.
[[nodiscard]] tl::expected<std::vector<Merged>, std::string> merge_parts(
    const std::vector<std::string>& files, const std::string& config_file, const CampaignOf& of);

}  // namespace limegate::app
