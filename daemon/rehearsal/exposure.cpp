#include "rehearsal/exposure.h"

#include <algorithm>
#include <array>
#include <chrono>
#include <tuple>

#include <fmt/format.h>

namespace limegate::rehearsal {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using Kind = Fault::Kind;

/// Saturated limewater at 25 °C: Bates, Bower and Smith 1956, J. Res. NBS 56, 305.
constexpr double kMmolPerMl = 0.0203;
constexpr double kGramsPerMol = 74.093;  ///< Ca(OH)2 (IUPAC)
/// A closed system's rise by 1 mL/L at pH_T 7.7, the steepest of the usual course:
/// tests/data/limewater_additions.csv.
constexpr double kRisePerMlPerLitre = 0.089;
/// What a tank's pH does by itself over a day, at most (common practice).
constexpr double kSwing = 0.4;
/// The daemon's own end of a run that the board does not end: seen at the next read-back, sent,
/// carried out.
constexpr double kOwnEndS = 10.0;
/// Found on by two looks in a row, put off, and confirmed.
constexpr double kFoundWithinS = 30.0;
/// What a fault set going may end this much after it.
constexpr Duration kFades = 5min;
/// Less than this is the arithmetic of seconds, not a fault.
constexpr double kNoticedMl = 2.0;
constexpr double kNoticedG = 0.01;
/// From the first drop on somebody may be told: a slow pump takes long to come to more.
constexpr double kBeginsMl = 1e-6;

using Site = ExposureWatch::Site;
using Window = ExposureWatch::Window;

/// What a physical fault can do at most.
struct Bound {
  Kind kind;
  const char* reason;
  /// Within which time of the first excess somebody is told; absent: nothing promises that yet.
  std::optional<Duration> alert;
  double (*millilitres)(const Site&, const Window&);
};

const Bound& bound_of(Kind kind) {
  static const std::array<Bound, 7> bounds{{
      {Kind::pump_stuck_on,
       "the pump's rate for as long as it lasts: no relay can end it, a person must; through a "
       "stir it is milk",
       2min,
       [](const Site& site, const Window& window) {
         return site.rate.count() * in_minutes(window.fault.lasting);
       }},
      {Kind::board_timer_fails,
       "10 s of the pump's rate a pulse, and for as long as the program was down", 2min,
       [](const Site& site, const Window& window) {
         return site.rate.count() / 60.0 * (kOwnEndS * window.pulses + window.down_s);
       }},
      {Kind::pump_fast, "so many times what was commanded", std::nullopt,
       [](const Site& /*site*/, const Window& window) {
         return (window.fault.value - 1.0) * window.commanded_ml;
       }},
      {Kind::pump_overrun, "the overrun at the pump's rate, each pulse", std::nullopt,
       [](const Site& site, const Window& window) {
         return site.rate.count() / 60.0 * (window.fault.value + 1.0) * window.pulses;
       }},
      {Kind::pump_switched,
       "30 s of the pump's rate until it is put off, and for as long as the program was down", 2min,
       [](const Site& site, const Window& window) {
         return site.rate.count() / 60.0 * (kFoundWithinS + window.down_s);
       }},
      {Kind::siphon, "its own flow for as long as it lasts; through a stir it is milk",
       std::nullopt,
       [](const Site& /*site*/, const Window& window) {
         return window.fault.value * in_minutes(window.fault.lasting);
       }},
      {Kind::milk, "no more water; half of the charge afloat in what was commanded", std::nullopt,
       [](const Site& /*site*/, const Window& /*window*/) { return 0.0; }},
  }};
  static const Bound none{Kind::count, "", std::nullopt,
                          [](const Site& /*site*/, const Window& /*window*/) { return 0.0; }};
  for (const Bound& bound : bounds) {
    if (bound.kind == kind) {
      return bound;
    }
  }
  return none;
}

}  // namespace

const char* bound_reason(Kind kind) { return bound_of(kind).reason; }

void Exposed::add(const Exposed& other) {
  // A total order, and the same one for equal shares of a bound: the sum of many does not depend
  // on which of them comes first.
  const auto rank = [](const Measure& of) {
    return std::tuple{of.worst / std::max(of.bound, 1e-9), of.bound, of.worst};
  };
  const auto nearer = [&](Measure& mine, const Measure& its) {
    if (times == 0 || rank(its) > rank(mine)) {
      mine = its;
    }
  };
  if (other.times > 0) {
    nearer(millilitres, other.millilitres);
    nearer(powder_g, other.powder_g);
    nearer(rise, other.rise);
  }
  if (other.longest_until_alert) {
    longest_until_alert =
        std::max(longest_until_alert.value_or(Duration::zero()), *other.longest_until_alert);
  }
  times += other.times;
  mixed += other.mixed;
}

void ExposureWatch::begin(const Fault& fault, Ph display) {
  Window window;
  window.fault = fault;
  window.begun = display;
  window.highest = display.count();
  window.mixed = !windows_.empty();
  for (auto& [kind, other] : windows_) {
    other.mixed = true;
  }
  windows_.emplace(fault.kind, window);
}

void ExposureWatch::disturb() {
  for (auto& [kind, window] : windows_) {
    window.mixed = true;
  }
}

void ExposureWatch::second(const Second& now) {
  now_ = now.at;
  for (auto& [kind, window] : windows_) {
    window.highest = std::max(window.highest, now.display.count());
    window.commanded_ml += now.commanded.count();
    window.powder_mmol += now.powder_mmol;
    window.down_s += now.program_runs ? 0.0 : 1.0;
    window.excess_ml += std::max(0.0, (now.flowed - now.commanded).count());
    if (!window.first_excess && window.excess_ml > kBeginsMl) {
      window.first_excess = now_;
      window.first_alert = now.told ? std::optional{now_} : window.first_alert;
    }
  }
}

void ExposureWatch::pulse_sent() {
  for (auto& [kind, window] : windows_) {
    window.pulses += 1;
  }
}

void ExposureWatch::alerted(std::string_view code) {
  if (code.find("pump") == std::string_view::npos) {
    return;
  }
  for (auto& [kind, window] : windows_) {
    if (window.first_excess && !window.first_alert) {
      window.first_alert = now_;
    }
  }
}

std::vector<std::string> ExposureWatch::passed(const Exposed& exposed, const Window& window) {
  const char* name = about(window.fault.kind).name;
  std::vector<std::string> sentences;
  const auto judge = [&](const Exposed::Measure& measure, double rounding, const char* what) {
    if (measure.worst > measure.bound + rounding) {
      sentences.push_back(fmt::format("{}: {:.3f} {}, its bound is {:.3f}", name, measure.worst,
                                      what, measure.bound));
    }
  };
  judge(exposed.millilitres, kNoticedMl, "mL beyond what was commanded");
  judge(exposed.powder_g, kNoticedG, "g of powder carried over");
  judge(exposed.rise, 0.0, "rise of the pH");
  const auto promised = bound_of(window.fault.kind).alert;
  if (promised && window.first_excess && window.excess_ml > kNoticedMl &&
      window.fault.at + window.fault.lasting > *window.first_excess + *promised &&
      (!exposed.longest_until_alert || *exposed.longest_until_alert > *promised)) {
    sentences.push_back(fmt::format("{} went on and nobody was told in time", name));
  }
  return sentences;
}

bool ExposureWatch::explains() const {
  return !windows_.empty() || (ended_at_ && now_ - *ended_at_ < kFades);
}

std::vector<Kind> ExposureWatch::open() const {
  std::vector<Kind> kinds;
  kinds.reserve(windows_.size());
  for (const auto& [kind, window] : windows_) {
    kinds.push_back(kind);
  }
  return kinds;
}

std::vector<std::string> ExposureWatch::end(Fault::Kind kind) {
  const auto found = windows_.find(kind);
  if (found == windows_.end()) {
    return {};
  }
  const Window window = found->second;
  windows_.erase(found);
  ended_at_ = now_;
  Exposed exposed;
  exposed.mixed = window.mixed ? 1 : 0;
  exposed.times = window.mixed ? 0 : 1;
  if (!window.mixed) {
    const double bound_ml = bound_of(kind).millilitres(site_, window);
    // A flow that is not commanded, or too fast, keeps powder afloat for the next pulse too.
    const double milky_ml = bound_ml + window.commanded_ml;
    exposed.millilitres = {window.excess_ml, bound_ml};
    exposed.powder_g = {
        window.powder_mmol * kGramsPerMol / 1000.0,
        milky_ml * site_.powder_g / 2.0 / std::max(site_.reactor.count(), 0.1) / 1000.0};
    const double powder_ml = exposed.powder_g.bound / kGramsPerMol * 1000.0 / kMmolPerMl;
    exposed.rise = {window.highest - window.begun.count(),
                    kSwing + kRisePerMlPerLitre * (bound_ml + window.commanded_ml + powder_ml) /
                                 site_.water.count()};
    if (window.first_excess && window.first_alert) {
      exposed.longest_until_alert = *window.first_alert - *window.first_excess;
    }
  }
  exposures_[kind].add(exposed);
  return window.mixed ? std::vector<std::string>{} : passed(exposed, window);
}

}  // namespace limegate::rehearsal
