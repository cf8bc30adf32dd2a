#include "care/doubts.h"

#include <algorithm>
#include <cmath>
#include <optional>
#include <string>
#include <utility>

#include <fmt/format.h>

#include "chemistry/keeper_units.h"
#include "units/iso8601.h"
#include "units/plain_number.h"

namespace limegate::care {
namespace {

/// Of limewater, mL for each litre of tank: 11 dKH a day, five times the bound of a day
/// (LIMITS.md).
constexpr double kMostLimewater = 100.0;
/// At once, by hand, dKH. More is a slip (CARE.md, section 3: never over 1 a day).
constexpr double kMostSupplement = 4.0;
/// What a value differs by from both beside it where a digit is wrong.
constexpr double kSlipByTen = 7.0;
/// What reef tanks hold, and a bad week (common practice: 7 to 11 dKH).
constexpr double kUnusualLow = 5.0, kUnusualHigh = 14.0;
/// What a leap in a week of alkalinity is, beside what a day may bring (CARE.md, section 3: never
/// over 1 dKH a day; ours: and three times what a test differs by).
constexpr double kLeap = 1.5, kLeapPerDay = 1.0;
/// Two tests at once by the usual kit, 3 √2 of its 0.2 dKH (CARE.md, section 1).
constexpr double kDisagree = 0.85;
/// What two tests of calcium or magnesium within an hour differ by, mg/L, where both are sound:
/// ours, several steps of the usual kits.
constexpr double kMetalsDisagree = 100.0;

bool is_unusual(double dkh) { return dkh < kUnusualLow || dkh > kUnusualHigh; }

/// Of a test, in its first unit.
std::optional<double> level_of(const Entry& entry) {
  return std::visit(
      [](const auto& what) -> std::optional<double> {
        if constexpr (requires { what.level.count(); }) {
          return what.level.count();
        } else {
          return std::nullopt;
        }
      },
      entry.what);
}

std::optional<Millilitres> limewater_of(const Entry& entry) {
  const auto* given = std::get_if<LimewaterGiven>(&entry.what);
  return given != nullptr ? std::optional{given->volume} : std::nullopt;
}

/// Of a value that is many times both beside it, or a small part of both; beside the first and the
/// last are the next two. `values` has three at least.
bool slipped_by_ten(const std::vector<double>& values, std::size_t i) {
  const std::size_t last = values.size() - 1;
  const double a = values[i == 0 ? 2 : i - 1];
  const double b = values[i == last ? last - 2 : i + 1];
  const double value = values[i];
  if (!(value > 0.0 && a > 0.0 && b > 0.0)) {
    return false;
  }
  return value >= kSlipByTen * std::max(a, b) || value * kSlipByTen <= std::min(a, b);
}

/// Marks those of the values that `value_of` finds, and says so.
template <class ValueOf>
void mark_slips_by_ten(const Book& book, const ValueOf& value_of, const std::string& why,
                       std::vector<bool>& left_out, std::vector<Remark>& remarks) {
  std::vector<double> values;
  std::vector<std::size_t> places;
  for (std::size_t i = 0; i < book.entries.size(); ++i) {
    if (const std::optional<double> value = value_of(book.entries[i]); value && !left_out[i]) {
      values.push_back(*value);
      places.push_back(i);
    }
  }
  for (std::size_t i = 0; i < values.size() && values.size() > 2; ++i) {
    if (slipped_by_ten(values, i)) {
      left_out[places[i]] = true;
      remarks.push_back({book.entries[places[i]].line,
                         fmt::format(fmt::runtime(why), plain_number(values[i], 4))});
    }
  }
}

void find_slips_by_ten(const Book& book, std::vector<bool>& left_out,
                       std::vector<Remark>& remarks) {
  mark_slips_by_ten(
      book,
      [](const Entry& one) {
        const auto given = limewater_of(one);
        return given ? std::optional{given->count()} : std::nullopt;
      },
      "limewater of {} mL is far from the days beside it. Not used: is a digit missing, or one "
      "too many? The day counts as unknown",
      left_out, remarks);
  mark_slips_by_ten(
      book,
      [](const Entry& one) {
        const auto* test = std::get_if<AlkalinityTest>(&one.what);
        return test != nullptr ? std::optional{test->level.count()} : std::nullopt;
      },
      "alkalinity of {} dKH is far from the tests beside it. Not used: is a digit missing, or "
      "one too many, or is it the wrong unit",
      left_out, remarks);
}

/// Leaves out every entry that `wrong` holds of, and says so once.
template <class Wrong>
void leave_out(const Book& book, const Wrong& wrong, const std::string& why,
               std::vector<bool>& left_out, std::vector<Remark>& remarks) {
  const Entry* first = nullptr;
  std::string others;
  for (std::size_t i = 0; i < book.entries.size(); ++i) {
    const Entry& entry = book.entries[i];
    if (left_out[i] || !wrong(entry)) {
      continue;
    }
    left_out[i] = true;
    if (first == nullptr) {
      first = &entry;
    } else if (entry.line > 0) {
      others += fmt::format("{}{}", others.empty() ? "" : ", ", entry.line);
    }
  }
  if (first != nullptr) {
    const std::string also = others.empty() ? "" : fmt::format(" (so are lines {})", others);
    remarks.push_back({first->line, fmt::format("{}{} {}", iso8601(first->at), also, why)});
  }
}

/// What is dated after `at`, where only a plan of limewater may be.
void find_future(const Book& book, WallTime at, std::vector<bool>& left_out,
                 std::vector<Remark>& remarks) {
  leave_out(
      book, [&](const Entry& one) { return one.at > at && !limewater_of(one); },
      fmt::format("is later than {}, for which you ask. Not used: look at the date, and at the "
                  "offset from UTC",
                  iso8601(at)),
      left_out, remarks);
  const auto planned = [&](const Entry& one) { return one.at > at && limewater_of(one); };
  const auto first = std::find_if(book.entries.begin(), book.entries.end(), planned);
  if (first != book.entries.end()) {
    remarks.push_back(
        {first->line, fmt::format("limewater from {} on is still to come. It counts as planned, "
                                  "and only in what is foretold",
                                  iso8601(first->at))});
  }
}

/// Tests from before the first row of limewater: nobody knows what was given between.
void find_too_early(const Book& book, std::vector<bool>& left_out, std::vector<Remark>& remarks) {
  constexpr double day = 1.0;
  std::size_t first = 0;
  while (first < book.entries.size() && (left_out[first] || !limewater_of(book.entries[first]))) {
    ++first;
  }
  if (first == book.entries.size()) {
    return;  // nothing to be too early for
  }
  const WallTime begins = book.entries[first].at;
  leave_out(
      book,
      [&](const Entry& one) {
        return std::holds_alternative<AlkalinityTest>(one.what) &&
               days_between(one.at, begins) > day;
      },
      fmt::format("is before the first limewater of the book, {}. Not used: what was given between "
                  "is unknown; write it down, be it 0 mL",
                  iso8601(begins)),
      left_out, remarks);
}

/// Levels that are used, and asked about.
void ask_about_levels(const Book& book, std::vector<Remark>& remarks) {
  const Entry* before = nullptr;
  double level_before = 0.0;
  for (const Entry& entry : book.entries) {
    const auto* test = std::get_if<AlkalinityTest>(&entry.what);
    if (test == nullptr) {
      continue;
    }
    const double level = test->level.count();
    // Of a tank that stays there it is said once.
    if (is_unusual(level) && (before == nullptr || !is_unusual(level_before))) {
      remarks.push_back({entry.line, fmt::format("{:.1f} dKH is far from the 7 to 11 of a reef. Is "
                                                 "the unit right (1 meq/L is 2.8 dKH)? Test again",
                                                 level)});
    }
    if (before != nullptr && entry.at - before->at <= std::chrono::hours{1} &&
        std::abs(level - level_before) > kDisagree) {
      remarks.push_back(
          {entry.line, fmt::format("this test says {:.1f} dKH and one {:.0f} min before it {:.1f}. "
                                   "One of them is wrong: test again",
                                   level, in_minutes(entry.at - before->at), level_before)});
    }
    before = &entry;
    level_before = level;
  }
}

/// Of limewater and new water that is used, and asked about.
void ask_about_volumes(const Book& book, std::vector<Remark>& remarks) {
  constexpr double same = 0.1;
  bool new_water_known = false;
  const Entry* before = nullptr;
  for (const Entry& entry : book.entries) {
    new_water_known = new_water_known || std::holds_alternative<NewWater>(entry.what);
    if (std::holds_alternative<WaterChange>(entry.what) && !new_water_known) {
      remarks.push_back({entry.line,
                         "nobody told the alkalinity of the new water. It counts as 8.5 dKH, and "
                         "widens what is estimated: write new_water before it"});
      new_water_known = true;  // said once
    }
    const auto given = limewater_of(entry);
    if (!given) {
      continue;
    }
    if (before != nullptr && entry.at - before->at < std::chrono::hours{12} &&
        std::abs((*given - *limewater_of(*before)).count()) > same * given->count()) {
      remarks.push_back(
          {entry.line, fmt::format("two rows tell of the same 24 h, one of {} mL and one of "
                                   "{}. Their mean is used: take the wrong one out",
                                   plain_number(limewater_of(*before)->count(), 6),
                                   plain_number(given->count(), 6))});
    }
    before = &entry;
  }
}

}  // namespace

std::string objection_to(const Entry& entry, Litres water) {
  if (const auto given = limewater_of(entry);
      given && given->count() > kMostLimewater * water.count()) {
    return fmt::format(
        "limewater of {} mL is more than {} L of water can have had in a day. Not used: look "
        "for a slip by ten; the day counts as unknown",
        plain_number(given->count(), 6), plain_number(water.count(), 6));
  }
  if (const auto* change = std::get_if<WaterChange>(&entry.what);
      change != nullptr && change->volume > water) {
    return fmt::format("a water change of {} L is more than the tank has, {} L. Not used",
                       plain_number(change->volume.count(), 6), plain_number(water.count(), 6));
  }
  if (const auto* supplement = std::get_if<Supplement>(&entry.what); supplement != nullptr) {
    const Dkh raised =
        chemistry::to_dkh(MeqPerLitre{supplement->alkalinity.count() / water.count()});
    if (raised.count() > kMostSupplement) {
      return fmt::format(
          "a supplement of {} meq would raise this tank by {:.1f} dKH at once. Not used: look "
          "for a slip by ten",
          plain_number(supplement->alkalinity.count(), 6), raised.count());
    }
  }
  return "";
}

namespace {

/// Of a test beside another one of its kind, which is `place` ("before") it.
std::string doubt_beside(const Entry& entry, const Entry* other, const char* place) {
  const auto level = level_of(entry);
  const auto then = other != nullptr ? level_of(*other) : std::nullopt;
  if (!level || !then || !(*then > 0.0)) {
    return "";
  }
  if (*level >= kSlipByTen * *then || *level * kSlipByTen <= *then) {
    return fmt::format(
        "The test {} it said {}: is a digit missing, or one too many, or is "
        "it the wrong unit?",
        place, plain_number(*then, 4));
  }
  const double days = std::abs(days_between(other->at, entry.at));
  const bool alkalinity = std::holds_alternative<AlkalinityTest>(entry.what);
  const bool metal = std::holds_alternative<CalciumTest>(entry.what) ||
                     std::holds_alternative<MagnesiumTest>(entry.what);
  const double apart = std::abs(*level - *then);
  if (days <= 1.0 / 24.0 &&
      ((alkalinity && apart > kDisagree) || (metal && apart > kMetalsDisagree))) {
    return fmt::format(
        "A test {:.0f} min {} it said {} {}, and two kits differ by less: test again.",
        days * 24.0 * 60.0, place, plain_number(*then, 4), alkalinity ? "dKH" : "mg/L");
  }
  if (alkalinity && apart > kLeap + kLeapPerDay * days) {
    const std::string apart_by = days < 1.0                ? "less than a day"
                                 : std::round(days) == 1.0 ? "a day"
                                                           : fmt::format("{:.0f} days", days);
    return fmt::format(
        "The test {} {} it said {:.1f} dKH; so much in that time is rarely true: test again.",
        apart_by, place, *then);
  }
  return "";
}

}  // namespace

std::string doubt_about(const Entry& entry, const Entry* before, const Entry* after) {
  const auto level = level_of(entry);
  if (!level) {
    return "";
  }
  std::string beside = doubt_beside(entry, before, "before");
  beside = beside.empty() ? doubt_beside(entry, after, "after") : beside;
  if (!beside.empty()) {
    return beside;
  }
  return std::holds_alternative<AlkalinityTest>(entry.what) && is_unusual(*level)
             ? fmt::format(
                   "{:.1f} dKH is far from the 7 to 11 of a reef: is the unit right (1 "
                   "meq/L is 2.8 dKH)?",
                   *level)
             : "";
}

ReadBook without_doubtful(const ReadBook& read, const Site& site, WallTime at) {
  ReadBook kept;
  kept.remarks = read.remarks;
  const auto& entries = read.book.entries;
  std::vector<bool> left_out(entries.size(), false);
  for (std::size_t i = 0; i < entries.size(); ++i) {
    if (std::string objection = objection_to(entries[i], site.water); !objection.empty()) {
      left_out[i] = true;
      kept.remarks.push_back({entries[i].line, std::move(objection)});
    }
  }
  find_slips_by_ten(read.book, left_out, kept.remarks);
  find_future(read.book, at, left_out, kept.remarks);
  find_too_early(read.book, left_out, kept.remarks);
  kept.book.entries.reserve(entries.size());
  for (std::size_t i = 0; i < entries.size(); ++i) {
    if (!left_out[i]) {
      kept.book.entries.push_back(entries[i]);
    }
  }
  ask_about_levels(kept.book, kept.remarks);
  ask_about_volumes(kept.book, kept.remarks);
  std::stable_sort(kept.remarks.begin(), kept.remarks.end(),
                   [](const Remark& a, const Remark& b) { return a.line < b.line; });
  return kept;
}

}  // namespace limegate::care
