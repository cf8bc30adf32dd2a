#include "care/commission.h"

#include <algorithm>
#include <array>
#include <chrono>
#include <cmath>
#include <cstddef>
#include <cstdlib>
#include <iterator>
#include <type_traits>
#include <utility>
#include <variant>

#include <fmt/format.h>

#include "care/entry_reader.h"
#include "units/iso8601.h"

namespace limegate::care {
namespace {

constexpr Duration kDay = std::chrono::hours{24};
/// A course is learned by quarters of an hour: three days of each are a little less than 72 h.
constexpr Duration kQuarter = std::chrono::hours{1};
/// Tests that are older say nothing of today's water (as the station holds it, limits of the file).
constexpr Duration kTestsCountFor = 14 * kDay;
constexpr Interval kAlkalinity{7.0, 11.0};  ///< dKH
constexpr Interval kCalcium{380.0, 450.0};  ///< mg/L

constexpr std::array<std::string_view, kSteps.size()> kNames{
    "place", "facts", "charge", "water", "settle",    "prime",
    "rate",  "probe", "proof",  "tests", "reference", "half-dose"};

std::size_t index_of(Step step) { return static_cast<std::size_t>(step); }

/// The entries after the newest one of the step before this; all of them where there is none.
auto since_before(Step step, const Book& book) {
  const auto before = std::find_if(book.entries.rbegin(), book.entries.rend(), [&](const Entry& e) {
    const auto* taken = std::get_if<StepTaken>(&e.what);
    return taken != nullptr && index_of(taken->step) + 1 == index_of(step);
  });
  return before.base();
}

template <class What>
bool tells_of(Step step, const Book& book) {
  return std::any_of(since_before(step, book), book.entries.end(),
                     [](const Entry& e) { return std::holds_alternative<What>(e.what); });
}

/// Of one kind of test.
template <class Test>
std::string lacking_test(const Book& book, WallTime now, Interval usual, std::string_view name,
                         std::string_view unit) {
  const Entry* newest = nullptr;
  for (const Entry& entry : book.entries) {
    if (std::holds_alternative<Test>(entry.what) && (newest == nullptr || entry.at >= newest->at)) {
      newest = &entry;
    }
  }
  if (newest == nullptr || now - newest->at > kTestsCountFor) {
    return fmt::format("No test of {} within 14 days is in the book.", name);
  }
  const double level = std::get<Test>(newest->what).level.count();
  return level >= usual.low && level <= usual.high
             ? ""
             : fmt::format(
                   "{} was tested at {:g} {}, and reefs are kept at {:g} to {:g}: correct it with "
                   "other means, not with this, and test again.",
                   name, level, unit, usual.low, usual.high);
}

/// More than the file's rate flows than is counted; by what two measures differ by it may.
std::string beyond_file(MillilitresPerMinute mean, const StationSays& says) {
  return says.pump_rate && mean.count() > kRateReadsOver * says.pump_rate->count()
             ? fmt::format(
                   "The pump gives {:.1f} mL/min, and the file says {:.1f}: write "
                   "rate_ml_per_min = {:.1f} and today's date as rate_measured into the "
                   "pump's table, and start the daemon again.",
                   mean.count(), says.pump_rate->count(), mean.count())
             : "";
}

std::string with_capital(std::string text) {
  if (!text.empty() && text.front() >= 'a' && text.front() <= 'z') {
    text.front() = static_cast<char>(text.front() - 'a' + 'A');
  }
  return text;
}

std::string joined(const std::vector<std::string>& codes) {
  std::string all;
  for (const std::string& code : codes) {
    all += fmt::format("{}{}", all.empty() ? "" : ", ", code);
  }
  return all;
}

template <std::size_t N>
std::vector<std::string> among(const std::vector<std::string>& holds,
                               const std::array<std::string_view, N>& codes) {
  std::vector<std::string> found;
  std::copy_if(holds.begin(), holds.end(), std::back_inserter(found), [&](const std::string& hold) {
    return std::find(codes.begin(), codes.end(), hold) != codes.end();
  });
  return found;
}

std::string lacking_proof(const StationSays& says) {
  constexpr std::array<std::string_view, 8> against{
      "pump-unconfirmed", "stirrer-unconfirmed", "pump-stuck-on",     "stirrer-stuck-on",
      "pump-found-on",    "stirrer-found-on",    "pump-timer-failed", "switched-off"};
  if (const auto found = among(says.holds, against); !found.empty()) {
    return fmt::format("The station says of its outlets: {}. See limegate status.", joined(found));
  }
  return says.pump_confirmed_off && says.stirrer_confirmed_off
             ? ""
             : "Pump and stirrer are not both read back as off: wait until they rest.";
}

std::string lacking_reference(const StationSays& says) {
  if (says.reference_known) {
    return "";
  }
  const ReferenceDays days = reference_days(says);
  return days.mixed      ? "The course of the pH was learned on days with doses, too: say limegate "
                           "relearn, and leave the day's volume at 0."
         : days.enough() ? ""
                         : fmt::format("{} of {} undosed days were seen so far. Come back later.",
                                       days.seen, ReferenceDays::kEnough);
}

}  // namespace

std::string_view name_of(Step step) { return kNames.at(index_of(step)); }

std::optional<Step> step_named(std::string_view name) {
  const auto found = std::find(kNames.begin(), kNames.end(), name);
  return found == kNames.end()
             ? std::nullopt
             : std::optional{kSteps.at(static_cast<std::size_t>(found - kNames.begin()))};
}

std::string_view name_of(StepTaken::How how) {
  return how == StepTaken::How::done ? "done" : "skipped";
}

std::string_view name_of(StepShown::State state) {
  using State = StepShown::State;
  return state == State::done      ? name_of(StepTaken::How::done)
         : state == State::skipped ? name_of(StepTaken::How::skipped)
         : state == State::next    ? "next"
                                   : "open";
}

tl::expected<StepTaken, std::string> read_step(const Written& written) {
  const auto step = step_named(written.value);
  const bool done = written.unit == name_of(StepTaken::How::done);
  if (!step || (!done && written.unit != name_of(StepTaken::How::skipped))) {
    return tl::unexpected(
        fmt::format("'{} {}' is no step of commissioning, done or skipped. Not used: limegate "
                    "commission writes it",
                    shown(written.value), shown(written.unit)));
  }
  return StepTaken{*step, done ? StepTaken::How::done : StepTaken::How::skipped, written.kit};
}

std::vector<StepShown> steps_of(const Book& book) {
  std::vector<StepShown> steps;
  steps.reserve(kSteps.size());
  for (const Step step : kSteps) {
    steps.push_back({step});
  }
  for (const Entry& entry : book.entries) {
    if (const auto* taken = std::get_if<StepTaken>(&entry.what)) {
      steps.at(index_of(taken->step)) = {
          taken->step,
          taken->how == StepTaken::How::done ? StepShown::State::done : StepShown::State::skipped,
          entry.at, taken->note};
    }
  }
  const auto open = std::find_if(steps.begin(), steps.end(), [](const StepShown& one) {
    return one.state == StepShown::State::open;
  });
  if (open != steps.end()) {
    open->state = StepShown::State::next;
  }
  return steps;
}

std::optional<Step> next_of(const std::vector<StepShown>& steps) {
  const auto next = std::find_if(steps.begin(), steps.end(), [](const StepShown& one) {
    return one.state == StepShown::State::next;
  });
  return next == steps.end() ? std::nullopt : std::optional{next->step};
}

double charged(const Book& book) {
  double grams = 0.0;
  for (auto entry = since_before(Step::charge, book); entry != book.entries.end(); ++entry) {
    if (const auto* powder = std::get_if<PowderAdded>(&entry->what)) {
      grams += powder->mass.count() * 1000.0;
    }
  }
  return grams;
}

std::vector<MillilitresPerMinute> runs_of(const Book& book) {
  std::vector<MillilitresPerMinute> runs;
  for (auto entry = since_before(Step::rate, book); entry != book.entries.end(); ++entry) {
    if (const auto* run = std::get_if<RateMeasured>(&entry->what)) {
      runs.push_back(run->rate);
    }
  }
  return runs;
}

ReferenceDays reference_days(const StationSays& says) {
  const bool mixed = says.undosed && *says.undosed < says.course_days * kDay - kQuarter;
  return {says.course_days, mixed};
}

std::string lacking_alkalinity(const Book& book, WallTime now) {
  return with_capital(lacking_test<AlkalinityTest>(book, now, kAlkalinity, "alkalinity", "dKH"));
}

std::string lacking_calcium(const Book& book, WallTime now) {
  return with_capital(lacking_test<CalciumTest>(book, now, kCalcium, "calcium", "mg/L"));
}

std::string not_clear(const std::vector<std::string>& holds) {
  constexpr std::array<std::string_view, 6> against{"switched-off",    "stirrer-running",
                                                    "stirrer-unknown", "settling",
                                                    "stir-overdue",    "stir-endless"};
  return joined(among(holds, against));
}

std::string lacking(Step step, const Book& book, const StationSays& says, WallTime now) {
  switch (step) {
    case Step::place:
    case Step::facts:
    case Step::water:
    case Step::prime:
    case Step::half_dose:
      return "";
    case Step::charge:
      return charged(book) > 0.0 ? ""
                                 : "The book tells of no powder since the facts were confirmed: "
                                   "limegate record FILE powder 130g.";
    case Step::settle: {
      const std::string holds = not_clear(says.holds);
      return holds.empty()
                 ? ""
                 : fmt::format("The station does not say yet that the limewater is clear: {}.",
                               holds);
    }
    case Step::rate: {
      const auto runs = runs_of(book);
      const RateRuns rate = rate_of(runs);
      return rate.verdict == RateRuns::Verdict::enough ? beyond_file(rate.mean, says)
                                                       : sentence_of(rate);
    }
    case Step::probe:
      return tells_of<ProbeCalibrated>(step, book)
                 ? ""
                 : "The book tells of no calibration since the step before: limegate record FILE "
                   "calibrated.";
    case Step::proof:
      return lacking_proof(says);
    case Step::tests:
      return trimmed(
          fmt::format("{} {}", lacking_alkalinity(book, now), lacking_calcium(book, now)));
    case Step::reference:
      return lacking_reference(says);
  }
  std::abort();
}

}  // namespace limegate::care
