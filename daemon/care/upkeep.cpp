#include "care/upkeep.h"

#include <algorithm>
#include <cctype>
#include <chrono>
#include <cmath>
#include <cstdlib>
#include <utility>

#include <fmt/format.h>

namespace limegate::care {
namespace {

using State = UpkeepItem::State;
using Days = std::chrono::days;

/// A refill is to be had in time for the weekend.
constexpr double kPowderForDays = 3.0;
constexpr double kTubeHours = 500.0;
/// By how much a probe may be off a test by hand.
constexpr PhChange kDriftMost{0.1};

struct Row {
  Chore chore;
  const char* name;
  std::string_view entry;
  std::string_view typed;  ///< the same with an example's value
  std::string_view done;   ///< begins the sentence that it was
  Days every;              ///< zero: it goes by hours run
  /// Whether every station needs it: then, where nothing is in the book, it counts from the first
  /// day.
  enum class Needed { always, if_in_the_book } needed;
};

constexpr std::array<Row, kChores> kRows{{
    {Chore::refill, "refill", "powder", "powder 120g", "Powder was put in", Days{14},
     Row::Needed::always},
    {Chore::clean, "clean", "cleaned", "cleaned", "The reactor was cleaned", Days{30},
     Row::Needed::always},
    {Chore::calibrate, "calibrate", "calibrated", "calibrated", "The pH probe was calibrated",
     Days{30}, Row::Needed::always},
    {Chore::tube, "tube", "new_tube", "new-tube", "The pump got a new tube", Days{0},
     Row::Needed::always},
    {Chore::rate, "rate", "rate", "rate 48mL/min", "The pump's rate was measured", Days{90},
     Row::Needed::if_in_the_book},
    {Chore::buffers, "buffers", "new_buffers", "new-buffers", "The pH buffers were opened",
     Days{60}, Row::Needed::if_in_the_book},
    {Chore::kit, "kit", "new_kit", "new-kit", "The test kit was opened", Days{180},
     Row::Needed::if_in_the_book},
    {Chore::electrode, "electrode", "new_electrode", "new-electrode", "The pH electrode was new",
     Days{365}, Row::Needed::if_in_the_book},
}};

const Row& row_of(Chore chore) { return kRows.at(static_cast<std::size_t>(chore)); }

std::string days(Duration duration) {
  const double whole = std::floor(std::max(0.0, in_seconds(duration)) / 86400.0);
  return fmt::format("{:.0f} {}", whole, whole == 1.0 ? "day" : "days");
}

std::string remedy(const Row& row) {
  return fmt::format("When it is done: limegate record {}.", row.typed);
}

UpkeepItem item(const Row& row, State state, std::string sentence) {
  return {row.chore, state, std::nullopt, std::move(sentence)};
}

/// As it goes on in a sentence: "the reactor was cleaned".
std::string goes_on(const Row& row) {
  std::string done{row.done};
  done.front() = static_cast<char>(std::tolower(static_cast<unsigned char>(done.front())));
  return done;
}

UpkeepItem not_in_book(const Row& row) {
  return item(row, State::not_known,
              fmt::format("Not in the book yet: {}. {}", goes_on(row), remedy(row)));
}

UpkeepItem by_age(const Row& row, const UpkeepKnown& known) {
  const auto& done = known.newest.at(static_cast<std::size_t>(row.chore));
  if (!done && (row.needed == Row::Needed::if_in_the_book || known.known_for < row.every)) {
    return not_in_book(row);
  }
  if (!done) {
    return item(row, State::due,
                fmt::format("Not in the book in the {} that the station runs: {}. Every {} is "
                            "common practice. {}",
                            days(known.known_for), goes_on(row), days(row.every), remedy(row)));
  }
  const std::string ago = fmt::format("{} {} ago", row.done, days(done->ago));
  if (done->ago >= row.every) {
    return item(
        row, State::due,
        fmt::format("{}; every {} is common practice. {}", ago, days(row.every), remedy(row)));
  }
  return {row.chore, State::fine, row.every - done->ago,
          fmt::format("{}; due in {}.", ago, days(row.every - done->ago))};
}

UpkeepItem refill(const UpkeepKnown& known) {
  const Row& row = row_of(Chore::refill);
  const auto& powder = known.powder;
  const auto& cleaned = known.newest.at(static_cast<std::size_t>(Chore::clean));
  const auto& filled = known.newest.at(static_cast<std::size_t>(Chore::refill));
  if (!powder && cleaned && filled && cleaned->ago <= filled->ago) {
    return item(row, State::due,
                fmt::format("The reactor was cleaned {} ago, and by the book no powder was put in "
                            "since. {}",
                            days(cleaned->ago), remedy(row)));
  }
  if (!powder) {
    return by_age(row, known);
  }
  const std::string fills = powder->refill_g.high > 0.0
                                ? fmt::format(" {:.0f} to {:.0f} g fill the vessel.",
                                              powder->refill_g.low, powder->refill_g.high)
                                : "";
  const std::string grams =
      fmt::format("{:.0f} to {:.0f} g", powder->left_g.low, powder->left_g.high);
  if (!powder->days) {
    return item(
        row, powder->left_g.low > 0.0 ? State::fine : State::due,
        fmt::format("Powder: {} can still be given, by what was given so far.{}", grams, fills));
  }
  const std::string left = fmt::format("Powder: {} can still be given, for {:.0f} to {:.0f} days.",
                                       grams, powder->days->low, powder->days->high);
  return powder->days->low <= kPowderForDays
             ? item(row, State::due, fmt::format("{}{} {}", left, fills, remedy(row)))
             : item(row, State::fine, left);
}

UpkeepItem calibrate(const UpkeepKnown& known) {
  const Row& row = row_of(Chore::calibrate);
  if (known.drift && std::abs(known.drift->count()) > kDriftMost.count()) {
    return item(row, State::due,
                fmt::format("The pH probe showed {:+.2f} beside the newest test by hand. Test "
                            "again, then calibrate it in fresh buffers. {}",
                            known.drift->count(), remedy(row)));
  }
  return by_age(row, known);
}

UpkeepItem tube(const UpkeepKnown& known) {
  const Row& row = row_of(Chore::tube);
  const auto& done = known.newest.at(static_cast<std::size_t>(Chore::tube));
  const auto given = done ? done->given_since : known.given_in_all;
  if (!given || !(known.pump_rate.count() > 0.0)) {
    return item(row, State::not_known,
                fmt::format("Nobody knows how long the pump ran on its tube. {}", remedy(row)));
  }
  const double hours = given->count() / known.pump_rate.count() / 60.0;
  const std::string ran = fmt::format(
      "The pump ran for {:.0f} h on its tube{}; {:.0f} h is common "
      "practice",
      hours, done ? "" : ", as far as the record goes", kTubeHours);
  return hours >= kTubeHours
             ? item(row, State::due,
                    fmt::format("{}, and a worn tube gives less or bursts. {}", ran, remedy(row)))
             : item(row, State::fine, ran + ".");
}

}  // namespace

const char* name_of(Chore chore) { return row_of(chore).name; }

std::string_view entry_of(Chore chore) { return row_of(chore).entry; }

const char* name_of(State state) {
  switch (state) {
    case State::fine:
      return "fine";
    case State::due:
      return "due";
    case State::not_known:
      return "not-known";
  }
  std::abort();
}

std::vector<UpkeepItem> upkeep_of(const UpkeepKnown& known) {
  std::vector<UpkeepItem> items;
  items.reserve(kChores);
  for (const Row& row : kRows) {
    items.push_back(row.chore == Chore::refill      ? refill(known)
                    : row.chore == Chore::calibrate ? calibrate(known)
                    : row.chore == Chore::tube      ? tube(known)
                                                    : by_age(row, known));
  }
  return items;
}

}  // namespace limegate::care
