#include "app/station_book.h"

#include <algorithm>
#include <chrono>
#include <string>
#include <utility>
#include <vector>

#include <fmt/format.h>

#include "app/book_asked.h"
#include "app/exit_code.h"
#include "app/state_dir.h"
#include "journal/course.h"
#include "units/rfc3339.h"

namespace limegate::app {
namespace {

/// So far back the record is asked.
constexpr std::chrono::days kLooksBack{150};

/// What was given in each day that is over, where it is known.
std::vector<care::Entry> given_of(const journal::Course& course, WallTime until) {
  std::vector<care::Entry> days;
  days.reserve(course.steps.size());
  WallTime begins = course.from;
  for (const journal::Course::Step& day : course.steps) {
    if (day.given && begins + course.step <= until) {
      days.push_back({begins, care::LimewaterGiven{Millilitres{*day.given}}, 0});
    }
    begins += course.step;
  }
  return days;
}

}  // namespace

tl::expected<StationBook, int> station_book(const Meant& meant, const config::Config& config,
                                            std::optional<WallTime> until) {
  auto daemon = reach(meant);
  if (!daemon) {
    return tl::unexpected(daemon.error());
  }
  const auto entries = entries_after(*daemon, 0);
  if (!entries) {
    return tl::unexpected(entries.error());
  }
  const auto status = station_shown(*daemon);
  if (!status) {
    return tl::unexpected(status.error());
  }
  const auto now = parse_rfc3339(status->value("time", std::string{}));
  const WallTime end = until.value_or(now.value_or(WallTime{}));
  const auto course =
      journal::read_course({readings_path(config.state_dir), ledger_path(config.state_dir)},
                           {daemon->station, end - kLooksBack, end, std::chrono::days{1}});
  if (!course) {
    complain(fmt::format("What was given can't be read: {}.\n", course.error().text()));
    return tl::unexpected(static_cast<int>(kNotConfirmed));
  }
  StationBook book{{{given_of(*course, end)}, {}}, end};
  for (care::Entry& entry : standing_of(*entries).entries) {
    book.read.book.entries.push_back(std::move(entry));
  }
  std::stable_sort(book.read.book.entries.begin(), book.read.book.entries.end(),
                   [](const care::Entry& a, const care::Entry& b) { return a.at < b.at; });
  return book;
}

}  // namespace limegate::app
