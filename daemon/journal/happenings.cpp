#include "journal/happenings.h"

#include <algorithm>
#include <cstdint>
#include <map>
#include <string_view>
#include <utility>

#include "journal/stored_units.h"

namespace limegate::journal {
namespace {

using std::chrono::seconds;

constexpr std::string_view kHeld = "held-";
constexpr std::string_view kCleared = "cleared-";
constexpr auto kLookBack = std::chrono::hours{24 * 30};
constexpr int kAxis = 600;

station::Severity severity_of(std::int64_t stored) {
  return stored == 0   ? station::Severity::info
         : stored == 1 ? station::Severity::warning
                       : station::Severity::alert;
}

/// Which holds stand, as one event after another tells.
class Standing {
 public:
  explicit Standing(WallTime from) : from_(from) {}

  void hear(WallTime at, std::string_view code, const std::string& sentence) {
    if (code == kStarted) {
      for (const auto& [held, one] : open_) {
        end(one, at);
      }
      open_.clear();
    } else if (code.starts_with(kHeld)) {
      const std::string held{code.substr(kHeld.size())};
      open_.try_emplace(held, Happenings::Held{held, sentence, at, {}});
    } else if (code.starts_with(kCleared)) {
      const auto known = open_.find(std::string{code.substr(kCleared.size())});
      if (known != open_.end()) {
        end(known->second, at);
        open_.erase(known);
      }
    }
  }
  [[nodiscard]] std::vector<Happenings::Held> all() {
    for (const auto& [held, one] : open_) {
      ended_.push_back(one);
    }
    open_.clear();
    return std::move(ended_);
  }

 private:
  void end(Happenings::Held one, WallTime at) {
    if (at >= from_) {
      one.until = std::max(at, one.since);
      ended_.push_back(std::move(one));
    }
  }

  WallTime from_;
  std::map<std::string, Happenings::Held> open_;
  std::vector<Happenings::Held> ended_;
};

/// Those that an axis has room for.
void keep_longest(const HappeningsAsked& asked, Happenings& all) {
  const auto length = [&](const Happenings::Held& one) {
    return one.until.value_or(asked.until) - std::max(one.since, asked.from);
  };
  const std::size_t before = all.holds.size();
  std::erase_if(all.holds, [&](const Happenings::Held& one) {
    return one.until && length(one) < (asked.until - asked.from) / kAxis;
  });
  if (all.holds.size() > kHoldsMost) {
    std::stable_sort(all.holds.begin(), all.holds.end(),
                     [&](const auto& a, const auto& b) { return length(a) > length(b); });
    all.holds.resize(kHoldsMost);
  }
  std::stable_sort(all.holds.begin(), all.holds.end(),
                   [](const auto& a, const auto& b) { return a.since < b.since; });
  all.short_holds = before - all.holds.size();
}

Stored<std::vector<Happenings::Held>> holds_in(const Database& database,
                                               const HappeningsAsked& asked) {
  const auto row = database.prepare(
      "SELECT at_s, code, sentence FROM events WHERE at_s >= ?1 AND at_s <= ?2 AND "
      "((station = ?3 AND (code LIKE 'held-%' OR code LIKE 'cleared-%')) OR "
      // As they came: the clock may have been set back meanwhile.
      "(station = '' AND code = ?4)) ORDER BY rowid");
  row->bind(seconds_of(asked.from - kLookBack), seconds_of(asked.until), asked.station,
            std::string_view{kStarted});
  Standing standing{asked.from};
  auto more = row->next();
  for (; more && *more; more = row->next()) {
    standing.hear(WallTime{seconds{row->integer(0)}}, row->text(1), row->text(2));
  }
  if (!more) {
    return tl::unexpected(more.error());
  }
  auto holds = standing.all();
  std::stable_sort(holds.begin(), holds.end(),
                   [](const auto& a, const auto& b) { return a.since < b.since; });
  return holds;
}

Happenings::Told told_in(const Statement& row) {
  return {WallTime{seconds{row.integer(0)}}, severity_of(row.integer(1)), row.text(2), row.text(3)};
}

}  // namespace

Stored<Happenings> read_happenings(const std::string& path, const HappeningsAsked& asked) {
  const auto database = Database::beside(path);
  if (!database) {
    return tl::unexpected(database.error());
  }
  Happenings all;
  const auto row = database->prepare(
      "SELECT at_s, severity, code, sentence FROM events WHERE at_s >= ?1 AND at_s <= ?2 AND "
      "station = ?3 ORDER BY at_s DESC, rowid DESC LIMIT ?4");
  row->bind(seconds_of(asked.from), seconds_of(asked.until), asked.station,
            static_cast<std::int64_t>(kEventsMost + 1));
  auto more = row->next();
  for (; more && *more; more = row->next()) {
    all.events.push_back(told_in(*row));
  }
  if (!more) {
    return tl::unexpected(more.error());
  }
  all.older_events = all.events.size() > kEventsMost;
  all.events.resize(std::min(all.events.size(), kEventsMost));
  auto holds = holds_in(*database, asked);
  if (!holds) {
    return tl::unexpected(holds.error());
  }
  all.holds = std::move(*holds);
  keep_longest(asked, all);
  return all;
}

Stored<std::vector<Happenings::Held>> read_holds(const std::string& path,
                                                 const HappeningsAsked& asked) {
  const auto database = Database::beside(path);
  return database ? holds_in(*database, asked) : tl::unexpected(database.error());
}

Stored<void> read_events(const std::string& path, const HappeningsAsked& asked,
                         const std::function<void(const Happenings::Told&)>& take) {
  const auto database = Database::beside(path);
  if (!database) {
    return tl::unexpected(database.error());
  }
  const auto row = database->prepare(
      "SELECT at_s, severity, code, sentence FROM events WHERE at_s >= ?1 AND at_s <= ?2 AND "
      "station = ?3 ORDER BY at_s, rowid");
  row->bind(seconds_of(asked.from), seconds_of(asked.until), asked.station);
  auto more = row->next();
  for (; more && *more; more = row->next()) {
    take(told_in(*row));
  }
  return more ? Stored<void>{} : tl::unexpected(more.error());
}

}  // namespace limegate::journal
