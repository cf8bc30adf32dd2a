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
#include "care/entry_reader.h"
#include "journal/course.h"
#include "units/rfc3339.h"

namespace limegate::app {
namespace {

using nlohmann::json;

constexpr Duration kDay = std::chrono::hours{24};
/// So far back the record is asked in steps of a quarter of a day.
constexpr Duration kLooksBack = 150 * kDay;

/// What was given in each day that is over, where the whole of it is known.
std::vector<care::Entry> given_of(const journal::Course& course, WallTime until) {
  std::vector<care::Entry> days;
  const auto steps = static_cast<std::size_t>(kDay / course.step);
  WallTime begins = course.from;
  std::size_t i = 0;
  // From midnight on.
  for (; i < course.steps.size() && begins.time_since_epoch() % kDay != Duration::zero(); ++i) {
    begins += course.step;
  }
  days.reserve(course.steps.size() / std::max<std::size_t>(steps, 1));
  for (; i + steps <= course.steps.size() && begins + kDay <= until; i += steps) {
    Millilitres sum;
    bool known = true;
    for (std::size_t n = i; n < i + steps; ++n) {
      known = known && course.steps[n].given;
      sum += Millilitres{course.steps[n].given.value_or(0.0)};
    }
    if (known) {
      days.push_back({begins, care::LimewaterGiven{sum}, 0});
    }
    begins += kDay;
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
  const auto status = daemon->client.ask("status", {{"station", daemon->station}});
  if (!status) {
    return tl::unexpected(failed(status.error()));
  }
  const auto now =
      parse_rfc3339(status->value("overview", json::object()).value("time", std::string{}));
  const WallTime end = until.value_or(now.value_or(WallTime{}));
  const auto course =
      journal::read_course({readings_path(config.state_dir), ledger_path(config.state_dir)},
                           {daemon->station, end - kLooksBack, end});
  if (!course) {
    complain(fmt::format("What was given can't be read: {}.\n", course.error().text()));
    return tl::unexpected(static_cast<int>(kNotConfirmed));
  }
  StationBook book{{{given_of(*course, end)}, {}}, end};
  for (const json& entry : *entries) {
    care::Written row = row_of(entry);
    auto known = care::read_entry(row);
    if (known && !was_undone(entry)) {
      book.read.book.entries.push_back(std::move(*known));
    }
  }
  std::stable_sort(book.read.book.entries.begin(), book.read.book.entries.end(),
                   [](const care::Entry& a, const care::Entry& b) { return a.at < b.at; });
  return book;
}

}  // namespace limegate::app
