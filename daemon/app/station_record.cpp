#include "app/station_record.h"

#include <algorithm>
#include <chrono>
#include <utility>

#include <fmt/format.h>

namespace limegate::app {
namespace {

using journal::Happenings;
using std::chrono::days;

journal::Stored<std::vector<Happenings::Told>> alerts_in(const std::string& path,
                                                         const journal::HappeningsAsked& asked) {
  std::vector<Happenings::Told> alerts;
  for (const std::string& whose : {asked.station, std::string{}}) {
    const auto read =
        journal::read_events(path, {whose, asked.from, asked.until}, [&](const auto& told) {
          if (told.severity == station::Severity::alert) {
            alerts.push_back(told);
          }
        });
    if (!read) {
      return tl::unexpected(read.error());
    }
  }
  std::stable_sort(alerts.begin(), alerts.end(),
                   [](const auto& a, const auto& b) { return a.at < b.at; });
  return alerts;
}

}  // namespace

std::string unreadable(const journal::StorageError& error) {
  if (error.fault == journal::StorageFault::missing) {
    return fmt::format("There is no record: {}. It begins with the first run of the daemon.",
                       error.detail);
  }
  return fmt::format("The record can't be read: {}. {}", error.text(),
                     error.fault == journal::StorageFault::damaged
                         ? "The daemon's next start sets it aside and begins a new one; look "
                           "after the disk."
                         : "Is this the daemon's user, or root?");
}

tl::expected<StationRecord, std::string> read_record(const journal::RecordFiles& files,
                                                     const std::string& station, WallTime now,
                                                     int count) {
  const WallTime from = std::chrono::floor<days>(now) - days{count - 1};
  const journal::CourseAsked asked{station, from, now};
  auto course = journal::read_course(files, asked);
  auto by_day = journal::read_course(files, {station, from, now, days{1}});
  auto day_of_ph = journal::read_day_of_ph(files, asked);
  auto holds = journal::read_holds(files.readings, {station, from, now});
  auto alerts = alerts_in(files.readings, {station, from, now});
  for (const auto* error : {course ? nullptr : &course.error(), by_day ? nullptr : &by_day.error(),
                            day_of_ph ? nullptr : &day_of_ph.error(),
                            holds ? nullptr : &holds.error(), alerts ? nullptr : &alerts.error()}) {
    if (error != nullptr) {
      return tl::unexpected(unreadable(*error));
    }
  }
  StationRecord record{from,
                       now,
                       std::move(*course),
                       std::move(*by_day),
                       *day_of_ph,
                       std::move(*holds),
                       std::move(*alerts),
                       std::nullopt};
  if (auto standing = journal::read_standing(files.ledger, station)) {
    record.standing = std::move(*standing);
  }
  return record;
}

}  // namespace limegate::app
