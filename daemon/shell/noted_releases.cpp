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

/// What a start does not know yet is known by then: how far the pH climbed within half an hour.
constexpr Duration kCauseGoneWithin = 2h;

template <class Hold>
bool holds_for(const station::Station& core) {
  return std::any_of(core.holds().begin(), core.holds().end(),
                     [](const rules::Hold& hold) { return std::holds_alternative<Hold>(hold); });
}

/// Whether there is nothing to judge it by yet.
bool too_early(const std::string& hold, const station::Station& core) {
  return hold == rules::code_of(rules::ClimbGoesOn{}) && holds_for<rules::ClimbUnknown>(core);
}

}  // namespace

void NotedReleases::take_from(std::vector<std::string>& latches, Instant now) {
  holds_.clear();
  until_ = now + kCauseGoneWithin;
  std::erase_if(latches, [&](const std::string& code) {
    if (station::is_release_note(code)) {
      holds_.push_back(code.substr(station::kReleaseNote.size()));
    }
    return station::is_release_note(code);
  });
}

std::vector<NotedReleases::Tried> NotedReleases::try_again(station::Station& core, Moment now) {
  std::vector<Tried> over;
  if (holds_.empty() || holds_for<rules::LedgerNotWritable>(core)) {
    return over;
  }
  std::erase_if(holds_, [&](const std::string& hold) {
    const bool last = now.mono >= until_;
    if (!last && too_early(hold, core)) {
      return false;
    }
    station::Station::Commanded done =
        core.command(now, station::Release{hold}, station::Origin::station);
    if (!last && done.answer.verdict != station::Answer::Verdict::accepted) {
      return false;
    }
    over.push_back(
        {station::release_note_of(hold), std::move(done.answer), std::move(done.effects)});
    return true;
  });
  return over;
}

}  // namespace limegate::shell
