// The step of commissioning in which the pH probe is checked in buffers.

#include <array>
#include <cstddef>

#include <fmt/format.h>

#include "app/commission_steps.h"
#include "app/keepers_answers.h"
#include "care/probe_check.h"
#include "chemistry/ph_buffers.h"
#include "chemistry/valid_range.h"

namespace limegate::app {
namespace {

using chemistry::StandardBuffer;
using Shown = CommissionStation::Shown;

constexpr std::array kBuffers{"7.00", "10.01", "7.00 again"};

/// A verdict. Absent: the person skips.
using Found = tl::expected<std::optional<care::ProbeVerdict>, int>;

/// Of the buffers, in degrees. Absent: the person skips.
tl::expected<std::optional<double>, int> ask_temperature() {
  for (;;) {
    auto celsius = ask_number("How warm are the buffers? Such as 25C; skip, or quit.\n", "C");
    const auto& range = chemistry::kBufferTemperatureRange;
    if (!celsius || !*celsius || (**celsius >= range.lowest && **celsius <= range.highest)) {
      return celsius;
    }
  }
}

Found by_millivolts(Celsius temperature) {
  std::array<Millivolts, kBuffers.size()> read{};
  for (std::size_t i = 0; i < kBuffers.size(); ++i) {
    const auto mv =
        ask_number(fmt::format("Millivolts in buffer {}, once they stand still; skip, or quit.\n",
                               kBuffers.at(i)),
                   "mV");
    if (!mv || !*mv) {
      return mv ? Found{std::nullopt} : tl::unexpected(mv.error());
    }
    read.at(i) = Millivolts{**mv};
  }
  return std::optional{
      care::verdict_of(care::MillivoltsRead{temperature, read[0], read[1], read[2]})};
}

/// What the probe shows once it stands still. Absent: it did not.
tl::expected<std::optional<Ph>, int> watched(CommissionStation& station) {
  care::Steadiness steadiness;
  std::string told;
  const auto over = station.watch([&](const Shown& shown) {
    if (shown.shown_ph) {
      steadiness.take(shown.shown_at, *shown.shown_ph);
      const std::string now = fmt::format("pH {:.2f}", shown.shown_ph->count());
      if (now != told) {
        say(fmt::format("{}, moved by {:.2f} within a minute\n", now,
                        steadiness.moved().value_or(PhChange{}).count()));
        told = now;
      }
    }
    return steadiness.steady() || steadiness.given_up();
  });
  if (!over) {
    return tl::unexpected(over.error());
  }
  return steadiness.steady() ? over->shown_ph : std::nullopt;
}

Found by_shown_ph(CommissionStation& station, Celsius temperature) {
  std::array<Ph, kBuffers.size()> shown{};
  for (std::size_t i = 0; i < kBuffers.size();) {
    const auto in_it =
        word_for(fmt::format("Yes: the probe stands, rinsed, in buffer {}.\n", kBuffers.at(i)));
    if (!in_it || !*in_it) {
      return in_it ? Found{std::nullopt} : tl::unexpected(in_it.error());
    }
    const auto ph = watched(station);
    if (!ph) {
      return tl::unexpected(ph.error());
    }
    if (*ph) {
      shown.at(i++) = **ph;
    } else {
      say("It did not stand still within five minutes: stir the buffer gently, wait until it is as "
          "warm as the probe, look at the cable; then again.\n");
    }
  }
  const auto seven = chemistry::buffer_ph(StandardBuffer::technical_7_00, temperature);
  const auto ten = chemistry::buffer_ph(StandardBuffer::technical_10_01, temperature);
  return seven && ten
             ? std::optional{care::verdict_of({*seven, shown[0]}, {*ten, shown[1]}, shown[2])}
             : std::nullopt;
}

}  // namespace

Said check_probe(CommissionStation& station) {
  for (;;) {
    const auto celsius = ask_temperature();
    if (!celsius || !*celsius) {
      return celsius ? Said{std::nullopt} : tl::unexpected(celsius.error());
    }
    const auto how = choose(
        "mv: you read millivolts off the transmitter; ph: the station watches the pH it shows.\n",
        {"mv", "ph"});
    if (!how || !*how) {
      return how ? Said{std::nullopt} : tl::unexpected(how.error());
    }
    const Celsius temperature{**celsius};
    const auto found =
        **how == "mv" ? by_millivolts(temperature) : by_shown_ph(station, temperature);
    if (!found || !*found) {
      return found ? Said{std::nullopt} : tl::unexpected(found.error());
    }
    say((*found)->sentence + "\n");
    if (!(*found)->serves) {
      continue;
    }
    const auto back = word_for("Yes: the probe is back in the tank, rinsed.\n");
    if (!back || !*back) {
      return back ? Said{std::nullopt} : tl::unexpected(back.error());
    }
    const auto recorded = station.record({{}, "calibrated", "", ""});
    if (!recorded) {
      return tl::unexpected(recorded.error());
    }
    if (*recorded) {
      return std::optional{(*found)->note};
    }
  }
}

}  // namespace limegate::app
