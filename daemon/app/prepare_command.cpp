#include "app/prepare_command.h"

#include <chrono>
#include <cstdio>
#include <filesystem>
#include <system_error>
#include <vector>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "app/exit_code.h"
#include "app/given_config.h"
#include "app/paces.h"
#include "app/state_dir.h"
#include "journal/witness.h"

namespace limegate::app {
namespace {

void print(const std::string& text) { std::fputs(text.c_str(), stdout); }
void complain(const std::string& text) { std::fputs(text.c_str(), stderr); }

std::vector<std::string> names_of(const config::Config& config) {
  std::vector<std::string> names;
  for (const config::Station& station : config.stations) {
    names.push_back(station.settings.name);
  }
  return names;
}

journal::Boot boot_of(const config::Config& config) {
  const RealPace pace;
  return {pace.boot_id(), pace.clock().now(), home_of(config.state_dir)};
}

/// A sentence if a witness on this machine knows of a pulse within 24 h. Its ledger may be gone, so
/// only the wall clock tells; one that stands before the pulse says nothing, and then it was.
std::string dosed_lately(const config::Config& config, WallTime now) {
  std::error_code ignored;
  for (const auto& file : std::filesystem::directory_iterator{config.witness_dir, ignored}) {
    const auto witness = journal::read_witness(file.path().string());
    if (witness && witness->newest_pulse > 0 &&
        now - witness->reserved.wall < std::chrono::hours{24}) {
      return "This machine remembers a pulse within 24 h (" + file.path().string() +
             "), and this may be the same water.";
    }
  }
  return {};
}

/// The guard's records that are there of these stations.
std::vector<std::string> guards_of(const std::vector<std::string>& stations,
                                   const config::Config& config) {
  std::vector<std::string> paths;
  for (const std::string& station : stations) {
    std::string path = guard_path(config.state_dir, station);
    if (std::filesystem::exists(path)) {
      paths.push_back(std::move(path));
    }
  }
  return paths;
}

tl::expected<GivenConfig, int> config_of(const std::string& file, Format format) {
  auto given = load_given(file);
  if (!given) {
    const std::string text = explain(given.error(), file, format);
    format == Format::json ? print(text) : complain(text);
    return tl::unexpected(static_cast<int>(kBadInput));
  }
  return std::move(*given);
}

/// The state directory, which is created if need be: so only once nothing else speaks against it.
tl::expected<StateDir, int> take(const config::Config& config) {
  auto state = StateDir::take(config.state_dir);
  if (state) {
    return std::move(*state);
  }
  if (state.error().fault == StateDir::Fault::in_use) {
    complain("A limegate runs with " + config.state_dir +
             ", so nothing was changed. Stop it first, and prepare then; or give this file a "
             "state_dir of its own.\n");
    return tl::unexpected(static_cast<int>(kInUse));
  }
  complain(state.error().what + "\n");
  return tl::unexpected(static_cast<int>(kNotConfirmed));
}

int failed(const config::Config& config, const journal::StorageError& error) {
  complain(fmt::format("{}: {} ({})\n", config.state_dir, error.what(), error.detail));
  return kNotConfirmed;
}

/// What was done, for people.
void print_prepared(const config::Config& config, const journal::Prepared& prepared) {
  for (const std::string& station : prepared.added) {
    print(fmt::format("Station {} is new: its ledger begins{} in {}.\n", station,
                      prepared.notes.empty() ? " empty" : "", config.state_dir));
  }
  for (const std::string& note : prepared.notes) {
    print(note + "\n");
  }
  if (prepared.added.empty()) {
    print("What was asked for has its ledger already; nothing was changed.\n");
  }
}

/// What they know is of other water: the person's word is the newer one. False if one stays.
bool forget_witnesses(const config::Config& config, const std::vector<std::string>& stations) {
  for (const std::string& station : stations) {
    std::error_code error;
    const std::string witness = witness_path(config.witness_dir, station);
    if (std::filesystem::remove(witness, error); error) {
      complain(witness + " can't be removed, so the next start counts a full day.\n");
      return false;
    }
  }
  return true;
}

}  // namespace

int prepare(const std::string& file, const std::string& station, journal::Water water,
            Format format) {
  const auto given = config_of(file, format);
  if (!given) {
    return given.error();
  }
  const config::Config& config = given->config;
  if (const auto wrong = objection_to_station(config, station); !wrong.empty()) {
    complain(wrong);
    return kBadInput;
  }
  if (const auto questions = config::questions_of(config); !questions.open.empty()) {
    complain(asked_back(questions) +
             "Nothing was prepared: correct the config, or confirm what it says.\n");
    return kBadInput;
  }
  const auto state = take(config);
  if (!state) {
    return state.error();
  }
  const journal::Boot boot = boot_of(config);
  std::string dosed = dosed_lately(config, boot.now.wall);
  const bool lost = !std::filesystem::exists(ledger_path(config.state_dir));
  if (const auto left = guards_of(names_of(config), config); lost && !left.empty()) {
    dosed = left.front() + " is of a station that was dosed.";
    if (water == journal::Water::never_dosed) {
      complain(dosed + " If that was other water, move that file away and prepare again.\n");
      return kBadInput;
    }
  }
  auto prepared = journal::Ledger::prepare(
      ledger_path(config.state_dir), station.empty() ? names_of(config) : std::vector{station},
      boot, water, dosed);
  if (!prepared) {
    return failed(config, prepared.error());
  }
  if (water == journal::Water::never_dosed && !forget_witnesses(config, prepared->added)) {
    return kNotConfirmed;
  }
  if (!lost) {
    for (const std::string& path : guards_of(prepared->added, config)) {
      prepared->notes.push_back(path +
                                " was there before: the first start believes it and may count a "
                                "full day. If it is of other water, move that file away first.");
    }
  }
  if (format == Format::json) {
    print(nlohmann::json{{"state_dir", config.state_dir},
                         {"added", prepared->added},
                         {"notes", prepared->notes}}
              .dump(2) +
          "\n");
    return kFine;
  }
  print_prepared(config, *prepared);
  if (!station.empty() && config.stations.size() > 1) {
    print("Only " + station + " was looked at. Prepare the others before limegate runs.\n");
  }
  return kFine;
}

int settle_moved(const std::string& file, Format format) {
  const auto given = config_of(file, format);
  if (!given) {
    return given.error();
  }
  const config::Config& config = given->config;
  const auto state = take(config);
  if (!state) {
    return state.error();
  }
  const auto ledger = journal::Ledger::moved_here(ledger_path(config.state_dir), boot_of(config));
  if (!ledger) {
    return failed(config, ledger.error());
  }
  std::error_code ignored;
  std::filesystem::create_directories(config.witness_dir, ignored);
  bool witnessed = true, older = false;
  for (const std::string& station : names_of(config)) {
    const std::string path = witness_path(config.witness_dir, station);
    const auto witness = ledger->witness_of(station);
    const auto known = journal::read_witness(path);
    if (witness && known && known->newest_pulse > witness->newest_pulse) {
      older = true;  // what it knows is lost to nobody's word
    } else {
      witnessed = witness && journal::write_witness(path, *witness) && witnessed;
    }
  }
  if (older) {
    complain("The ledger in " + config.state_dir +
             " is older than what its witness outside the directory knows: it is not the newest of "
             "its water. Start limegate; 24 h count as full then. If nothing else doses this "
             "water, say so again after that.\n");
    return kNotConfirmed;
  }
  if (!witnessed) {
    complain(config.witness_dir + " can't be written, so the next start will ask again.\n");
    return kNotConfirmed;
  }
  print(format == Format::json
            ? nlohmann::json{{"state_dir", config.state_dir}, {"moved_here", true}}.dump(2) + "\n"
            : fmt::format("The ledger in {} is taken as the newest of its water, moved here whole. "
                          "What counted as full for that reason counts no more.\n",
                          config.state_dir));
  return kFine;
}

bool prepare_simulated(const config::Config& config) {
  return journal::Ledger::prepare(ledger_path(config.state_dir), names_of(config), boot_of(config),
                                  journal::Water::never_dosed)
      .has_value();
}

}  // namespace limegate::app
