#include "shell/noted_releases.h"

#include <algorithm>
#include <chrono>
#include <utility>
#include <variant>

#include "rules/hold.h"
#include "station/release_note.h"

namespace limegate::shell {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

constexpr Duration kShownWithin = 2min;
constexpr Duration kClimbShownWithin = 35min;

template <class Hold>
bool holds_for(const station::Station& core) {
  return std::any_of(core.holds().begin(), core.holds().end(),
                     [](const rules::Hold& hold) { return std::holds_alternative<Hold>(hold); });
}

bool is_climb(const std::string& hold) { return hold == rules::code_of(rules::ClimbGoesOn{}); }

/// The notes among `latches`, by the holds that they are of.
std::vector<std::string> taken_out_of(std::vector<std::string>& latches) {
  std::vector<std::string> holds;
  std::erase_if(latches, [&](const std::string& code) {
    if (station::is_release_note(code)) {
      holds.push_back(code.substr(station::kReleaseNote.size()));
    }
    return station::is_release_note(code);
  });
  return holds;
}

}  // namespace

void NotedReleases::take_from(std::vector<std::string>& latches, Instant now) {
  begun_ = now;
  waiting_ = taken_out_of(latches);
  given_up_.clear();
  std::erase_if(waiting_, [&](const std::string& hold) {
    const bool latched = std::find(latches.begin(), latches.end(), hold) != latches.end();
    if (!latched) {
      given_up_.push_back(hold);
    }
    return !latched;
  });
}

void NotedReleases::give_up(std::vector<std::string>& latches) {
  std::vector<std::string> holds = taken_out_of(latches);
  holds.insert(holds.end(), waiting_.begin(), waiting_.end());
  waiting_.clear();
  for (std::string& hold : holds) {
    if (std::find(given_up_.begin(), given_up_.end(), hold) == given_up_.end()) {
      given_up_.push_back(std::move(hold));
    }
  }
}

void NotedReleases::latched_anew(const std::string& hold) {
  if (std::erase(waiting_, hold) > 0) {
    given_up_.push_back(hold);
  }
}

std::vector<NotedReleases::Over> NotedReleases::try_again(station::Station& core, Moment now) {
  using Verdict = station::Answer::Verdict;
  std::vector<Over> over;
  if (holds_for<rules::LedgerNotWritable>(core)) {
    return over;
  }
  for (std::string& hold : std::exchange(given_up_, {})) {
    over.push_back({std::move(hold), {Verdict::refused, "What it was for is over."}, {}});
  }
  std::erase_if(waiting_, [&](const std::string& hold) {
    const bool climb = is_climb(hold);
    const bool last = now.mono - begun_ >= (climb ? kClimbShownWithin : kShownWithin);
    if (!last && climb && holds_for<rules::ClimbUnknown>(core)) {
      return false;
    }
    station::Station::Commanded done =
        core.command(now, station::Release{hold}, station::Origin::station);
    if (!last && done.answer.verdict != Verdict::accepted) {
      return false;
    }
    over.push_back({hold, std::move(done.answer), std::move(done.effects)});
    return true;
  });
  return over;
}

}  // namespace limegate::shell
