#include "app/campaign_parts.h"

#include <algorithm>
#include <chrono>
#include <utility>

#include <boost/crc.hpp>
#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "files/whole_line.h"

namespace limegate::app {
namespace {

using nlohmann::json;
using rehearsal::CampaignOutcome;
using rehearsal::Exposed;

constexpr double kSecondsPerDay = 86400.0;
constexpr double kSecondsPerHour = 3600.0;

/// A part has its own first seed and its count: two that overlap would count courses twice.
struct Part {
  std::string file, station;
  CampaignOf of;
  std::uint64_t first = 0;
  CampaignOutcome sum;
};

Exposed::Measure measure_of(const json& part) { return {part.at("worst"), part.at("bound")}; }

rehearsal::Fault::Kind kind_of(const std::string& name) {
  const auto& kinds = rehearsal::fault_kinds();
  const auto found =
      std::find_if(kinds.begin(), kinds.end(), [&](const auto& kind) { return name == kind.name; });
  if (found == kinds.end()) {
    throw json::other_error::create(501, "there is no fault '" + name + "'", nullptr);
  }
  return found->kind;
}

Exposed exposed_of(const json& part) {
  Exposed exposed;
  exposed.times = part.at("judged");
  exposed.mixed = part.at("mixed");
  exposed.millilitres = measure_of(part.at("beyond_command_ml"));
  exposed.powder_g = measure_of(part.at("powder_g"));
  exposed.rise = measure_of(part.at("ph_rise"));
  if (const json& until = part.at("until_alert_s"); !until.is_null()) {
    exposed.longest_until_alert = seconds_of(until);
  }
  return exposed;
}

CampaignOutcome sum_of(const json& part) {
  CampaignOutcome sum;
  sum.courses = part.at("courses");
  sum.lasted = seconds_of(part.at("days").get<double>() * kSecondsPerDay);
  sum.pulses = part.at("pulses");
  sum.restarts = part.at("restarts");
  sum.alerts = part.at("alerts");
  sum.ph_high = part.at("ph_high");
  sum.longest_silence = seconds_of(part.at("longest_silence_h").get<double>() * kSecondsPerHour);
  for (const auto& [name, times] : part.at("faults").items()) {
    sum.faults[kind_of(name)] = times;
  }
  for (const auto& [name, exposed] : part.at("exposures").items()) {
    sum.exposures[kind_of(name)] = exposed_of(exposed);
  }
  for (const json& broken : part.at("broken_promises")) {
    sum.broken.push_back({broken.at("seed"), broken.at("promise")});
  }
  return sum;
}

Part part_from(const std::string& file, const json& part) {
  return {file,
          part.at("station"),
          {part.at("version"), part.at("config"), part.at("days_each")},
          part.at("first_seed"),
          sum_of(part)};
}

/// Empty if the part may be added to the others.
std::string objection(const Part& part, const std::vector<Part>& before, const CampaignOf& of) {
  if (part.of != of) {
    return fmt::format(
        "{}: is of program {}, config {} and courses of {} days, and not of program {}, config {} "
        "and courses of {} days. Merge what was run with the same of each",
        part.file, part.of.version, part.of.config, part.of.days, of.version, of.config, of.days);
  }
  const auto overlaps = [&](const Part& other) {
    return other.station == part.station && part.first < other.first + other.sum.courses &&
           other.first < part.first + part.sum.courses;
  };
  const auto other = std::find_if(before.begin(), before.end(), overlaps);
  return other == before.end()
             ? ""
             : fmt::format("{}: has seeds of station {} that {} has too. Give each part its own",
                           part.file, part.station, other->file);
}

tl::expected<std::vector<Part>, std::string> parts_in(const std::string& file) {
  const auto text = files::read(file);
  if (!text) {
    return tl::unexpected(file + ": can't be read");
  }
  std::vector<Part> parts;
  try {
    const json all = json::parse(*text);
    for (const json& part : all.get_ref<const json::array_t&>()) {
      parts.push_back(part_from(file, part));
    }
  } catch (const json::exception& error) {
    return tl::unexpected(
        fmt::format("{}: is no part of a campaign, as 'limegate rehearse CONFIG --seeds N --json' "
                    "prints it: {}",
                    file, error.what()));
  }
  return parts;
}

}  // namespace

CampaignOf campaign_of(const std::string& config_text, double days) {
  boost::crc_32_type sum;
  sum.process_bytes(config_text.data(), config_text.size());
  return {LIMEGATE_VERSION, fmt::format("{:08x}", sum.checksum()), days};
}

json part_of(const CampaignOutcome& sum, const Campaign& given, const CampaignOf& of) {
  json part = json_of(sum, given.station);
  part["version"] = of.version;
  part["config"] = of.config;
  part["days_each"] = of.days;
  part["first_seed"] = given.seed;
  return part;
}

tl::expected<std::vector<Merged>, std::string> merge_parts(const std::vector<std::string>& files,
                                                           const std::string& config_file,
                                                           const CampaignOf& of) {
  std::vector<Part> all;
  for (const std::string& file : files) {
    auto parts = parts_in(file);
    if (!parts) {
      return tl::unexpected(parts.error());
    }
    for (Part& part : *parts) {
      if (std::string why = objection(part, all, of); !why.empty()) {
        return tl::unexpected(std::move(why));
      }
      all.push_back(std::move(part));
    }
  }
  std::vector<Merged> merged;
  for (const Part& part : all) {
    auto found = std::find_if(merged.begin(), merged.end(),
                              [&](const Merged& one) { return one.given.station == part.station; });
    if (found == merged.end()) {
      merged.push_back({{config_file, part.station, of.days, part.first, 0}, {}});
      found = std::prev(merged.end());
    }
    found->given.seed = std::min(found->given.seed, part.first);
    found->given.seeds += part.sum.courses;
    found->sum.add(part.sum);
  }
  return merged;
}

}  // namespace limegate::app
