#include "care/probe_check.h"

#include <algorithm>
#include <array>
#include <cmath>

#include <fmt/format.h>

#include "chemistry/electrode.h"
#include "chemistry/ph_buffers.h"

namespace limegate::care {
namespace {

constexpr double kReef = 8.2;
constexpr double kSlopeLeast = 85.0, kSlopeMost = 105.0;  ///< common practice
constexpr double kAtReefMost = 0.1;
constexpr double kBackMost = 0.02;
/// Of a decimal hundredth, with its rounding.
constexpr double kRounding = 1e-6;

constexpr const char* kNotBack =
    "The first buffer did not come back: rinse, fresh buffers, and again.";

bool agrees(PhChange back) { return std::abs(back.count()) <= kBackMost + kRounding; }

}  // namespace

void Steadiness::take(WallTime at, Ph shown) {
  if (!seen_.empty() && at <= seen_.back().at) {
    return;
  }
  began_ = began_.value_or(at);
  seen_.push_back({at, shown});
  const auto within = std::find_if(seen_.begin(), seen_.end(),
                                   [&](const Shown& one) { return at - one.at < kFor; });
  // The last that is a minute old says what it was a minute ago.
  if (within - seen_.begin() > 1) {
    seen_.erase(seen_.begin(), within - 1);
  }
}

bool Steadiness::steady() const {
  const auto change = moved();
  return change && seen_.back().at - seen_.front().at >= kFor && *change <= kWithin;
}

std::optional<PhChange> Steadiness::moved() const {
  if (seen_.empty()) {
    return std::nullopt;
  }
  const auto [low, high] = std::minmax_element(
      seen_.begin(), seen_.end(), [](const Shown& a, const Shown& b) { return a.ph < b.ph; });
  return high->ph - low->ph;
}

bool Steadiness::given_up() const {
  return began_ && seen_.back().at - *began_ > kAtMost && !steady();
}

ProbeVerdict verdict_of(const InBuffer& first, const InBuffer& second, Ph again) {
  const PhChange step = second.buffer - first.buffer;
  const double share = (kReef - first.buffer.count()) / step.count();
  const PhChange off_first = first.shown - first.buffer;
  const PhChange off_second = second.shown - second.buffer;
  ProbeVerdict found;
  found.slope = Percent{100.0 * ((second.shown - first.shown) / step)};
  found.at_reef = off_first * (1.0 - share) + off_second * share;
  found.back = again - first.shown;
  const bool slope = found.slope.count() >= kSlopeLeast && found.slope.count() <= kSlopeMost;
  const bool close = std::abs(found.at_reef.count()) <= kAtReefMost + kRounding;
  found.serves = slope && close && agrees(found.back);
  found.note = fmt::format("slope {:.1f} %, {:+.2f} at pH {:.1f}, again {:+.2f}",
                           found.slope.count(), found.at_reef.count(), kReef, found.back.count());
  found.sentence = fmt::format(
      "The probe: {}. {}", found.note,
      found.serves          ? "It serves."
      : !agrees(found.back) ? kNotBack
      : slope               ? "Calibrate the transmitter in these buffers, and check it again."
              : "The slope is not that of a sound probe: fresh buffers, calibrate; if it stays, "
                "replace the electrode.");
  return found;
}

ProbeVerdict verdict_of(const MillivoltsRead& read) {
  using chemistry::StandardBuffer;
  const auto seven = chemistry::buffer_ph(StandardBuffer::technical_7_00, read.temperature);
  const auto ten = chemistry::buffer_ph(StandardBuffer::technical_10_01, read.temperature);
  const auto each = chemistry::nernst_slope(read.temperature);
  ProbeVerdict found;
  if (!seven || !ten || !each) {
    found.sentence = "The buffers have no table at that temperature: 0 to 50 C.";
    return found;
  }
  const std::array readings{
      chemistry::BufferReading{*seven, read.temperature, read.seven},
      chemistry::BufferReading{*ten, read.temperature, read.ten},
  };
  const auto electrode = chemistry::calibrate(readings);
  if (!electrode) {
    found.sentence =
        fmt::format("It can't be calibrated: {}.", chemistry::words(electrode.error().refusal));
    return found;
  }
  found.slope = electrode->electrode.slope;
  // More millivolts are a lower pH.
  found.back = PhChange{(read.seven - read.seven_again) / *each};
  found.serves = agrees(found.back) && electrode->verdict != chemistry::ElectrodeVerdict::worn_out;
  found.note =
      fmt::format("slope {:.1f} %, {:+.1f} mV at pH 7, again {:+.2f} pH", found.slope.count(),
                  electrode->electrode.offset.count(), found.back.count());
  found.sentence = agrees(found.back) ? fmt::format("The probe: {}. It is {}.", found.note,
                                                    chemistry::words(electrode->verdict))
                                      : fmt::format("The probe: {}. {}", found.note, kNotBack);
  return found;
}

}  // namespace limegate::care
