#include "rehearsal/fault.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <chrono>
#include <cmath>

#include <fmt/format.h>

namespace limegate::rehearsal {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using Kind = Fault::Kind;

tl::unexpected<std::string> refuse(std::string_view text, const std::string& what) {
  return tl::unexpected(std::string{text} + ": " + what +
                        ". Write NAME@TIME[:DURATION][=VALUE], such as ph-offset@36h:2h=0.3");
}

std::optional<double> number(std::string_view text) {
  double value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  const bool whole = error == std::errc{} && end == text.data() + text.size();
  return whole && std::isfinite(value) ? std::optional{value} : std::nullopt;
}

/// Why nothing can go wrong by so much; empty if it can.
std::string absurd(Kind kind, double value) {
  constexpr double most = 1e6;
  constexpr std::array<Kind, 10> either_way{
      Kind::ph_offset,     Kind::ph_drift,          Kind::ph_hum,     Kind::ph_compensation,
      Kind::second_offset, Kind::second_drift,      Kind::second_hum, Kind::second_compensation,
      Kind::clock_step,    Kind::temperature_offset};
  const bool may_be_less =
      std::find(either_way.begin(), either_way.end(), kind) != either_way.end();
  if (std::abs(value) > most || (value < 0 && !may_be_less)) {
    return fmt::format("a value from {} to {:.0f} is needed", may_be_less ? "-1000000" : "0", most);
  }
  if (kind == Kind::limewater_spoiled && value > 100) {
    return "a value from 0 to 100 is needed";
  }
  return {};
}

/// "90min", "36h", "2d", "45s"; at most ten years.
std::optional<Duration> time(std::string_view text) {
  const auto unit = std::find_if(text.begin(), text.end(), [](char c) { return c >= 'a'; });
  const std::string_view name = text.substr(static_cast<std::size_t>(unit - text.begin()));
  const auto count = number(text.substr(0, text.size() - name.size()));
  const double seconds = name == "s"     ? 1
                         : name == "min" ? 60
                         : name == "h"   ? 3600
                         : name == "d"   ? 86400
                                         : 0;
  if (!count || seconds == 0 || *count < 0 || *count * seconds > 86400.0 * 3653) {
    return std::nullopt;
  }
  // The world goes in whole seconds, and 8.2 h are a hair less than 29520 of them.
  return std::chrono::seconds{std::llround(*count * seconds)};
}

constexpr auto kYes = FaultKind::Physical::yes;
constexpr std::array<FaultKind, static_cast<std::size_t>(Kind::count)> kKinds{
    {{Kind::ph_silent, "ph-silent", "the pH probe does not answer", 2h, 0},
     {Kind::ph_stuck, "ph-stuck", "the pH probe shows one value for ever", 12h, 0},
     {Kind::ph_offset, "ph-offset", "the pH probe shows this much more", 6h, 0.3},
     {Kind::ph_drift, "ph-drift", "the pH probe drifts by this much a day", 240h, 0.02},
     {Kind::ph_noise, "ph-noise", "the pH probe's noise has this standard deviation", 12h, 0.05},
     {Kind::ph_slow, "ph-slow", "the pH probe lags by this many seconds", 72h, 600},
     {Kind::ph_unplugged, "ph-unplugged", "the pH probe's cable is off: a flat 7.00", 4h, 0},
     {Kind::ph_dry, "ph-dry", "the pH probe is out of the water and wanders", 4h, 0},
     {Kind::ph_hum, "ph-hum", "the pH probe shows this much more while the pump runs", 24h, 0.12},
     {Kind::ph_not_a_number, "ph-not-a-number", "the pH probe's answer is no number", 1h, 0},
     {Kind::ph_slope, "ph-slope", "the pH electrode loses this many % of its slope a day", 240h,
      0.5},
     {Kind::ph_compensation, "ph-compensation",
      "pH is compensated for a temperature this many K too high", 72h, 10},
     {Kind::ph_fouling, "ph-fouling",
      "a film grows on the pH probe: it lags by this many seconds more each day", 240h, 60},
     {Kind::second_silent, "second-silent", "as ph-silent, of the second pH probe", 2h, 0},
     {Kind::second_stuck, "second-stuck", "as ph-stuck, of the second pH probe", 12h, 0},
     {Kind::second_offset, "second-offset", "as ph-offset, of the second pH probe", 6h, 0.3},
     {Kind::second_drift, "second-drift", "as ph-drift, of the second pH probe", 240h, 0.02},
     {Kind::second_noise, "second-noise", "as ph-noise, of the second pH probe", 12h, 0.05},
     {Kind::second_slow, "second-slow", "as ph-slow, of the second pH probe", 72h, 600},
     {Kind::second_unplugged, "second-unplugged", "as ph-unplugged, of the second pH probe", 4h, 0},
     {Kind::second_dry, "second-dry", "as ph-dry, of the second pH probe", 4h, 0},
     {Kind::second_hum, "second-hum", "as ph-hum, of the second pH probe", 24h, 0.12},
     {Kind::second_not_a_number, "second-not-a-number",
      "as ph-not-a-number, of the second pH probe", 1h, 0},
     {Kind::second_slope, "second-slope", "as ph-slope, of the second pH probe", 240h, 0.5},
     {Kind::second_compensation, "second-compensation",
      "as ph-compensation, of the second pH probe", 72h, 10},
     {Kind::second_fouling, "second-fouling", "as ph-fouling, of the second pH probe", 240h, 60},
     {Kind::temperature_silent, "temperature-silent", "the temperature probe does not answer", 2h,
      0},
     {Kind::temperature_offset, "temperature-offset",
      "the temperature probe shows this many K more", 6h, 5},
     {Kind::bus_silent, "bus-silent", "nothing on the bus answers", 2h, 0},
     {Kind::outlets_silent, "outlets-silent",
      "the board of pump and stirrer does not answer, and the probes do", 2h, 0},
     {Kind::replies_lost, "replies-lost", "the boards obey, but their answers are lost", 1h, 0},
     {Kind::replies_late, "replies-late",
      "the boards obey at once, and their answers come this many seconds later", 1h, 3},
     {Kind::pump_stuck_on, "pump-stuck-on", "the pump's relay is welded", 1h, 0, kYes},
     {Kind::pump_relay_dead, "pump-relay-dead", "the pump's relay never picks up", 24h, 0},
     {Kind::board_timer_fails, "board-timer-fails", "the board does not end a run by itself", 12h,
      0, kYes},
     {Kind::pump_dead, "pump-dead", "the pump turns and moves nothing", 24h, 0},
     {Kind::pump_fast, "pump-fast", "the pump gives this many times its rate", 24h, 3, kYes},
     {Kind::pump_worn, "pump-worn", "the pump's tube loses this many percent a day", 240h, 2},
     {Kind::pump_overrun, "pump-overrun", "the pump turns on for this many seconds after its relay",
      72h, 3, kYes},
     {Kind::pump_switched, "pump-switched",
      "somebody else switches the pump on, for so many seconds", 10min, 600, kYes},
     {Kind::siphon, "siphon", "this many mL/min run through the standing pump", 2h, 5, kYes},
     {Kind::stirrer_stuck_on, "stirrer-stuck-on", "the stirrer's relay is welded", 6h, 0},
     {Kind::stirrer_dead, "stirrer-dead", "the stirrer does not turn", 72h, 0},
     {Kind::stirrer_input_stuck, "stirrer-input-stuck",
      "an observed stirrer's input shows this for ever: 0 = rests, 1 = runs", 72h, 0},
     {Kind::milk, "milk", "a knock stirs the powder up every so many minutes", 4h, 20, kYes},
     {Kind::powder_spent, "powder-spent", "all powder is gone until somebody refills", 72h, 0},
     {Kind::limewater_spoiled, "limewater-spoiled", "CO2 used up this share of the limewater, in %",
      72h, 60},
     {Kind::hand_dosed, "hand-dosed", "somebody adds sodium carbonate worth so many dKH", 0s, 0.5},
     {Kind::precipitation, "precipitation",
      "so many mg/L of fine crystals come afloat and draw the alkalinity down", 0s, 50},
     {Kind::top_off, "top-off", "the top-off gives so many mL/min whatever the level is: 0 = none",
      24h, 0},
     {Kind::room_co2, "room-co2", "the room's air has so many ppm of CO2", 12h, 1500},
     {Kind::disk_full, "disk-full", "the ledger can't be written", 2h, 0},
     {Kind::disk_slow, "disk-slow", "each write to the disk takes this many seconds", 12h, 15},
     {Kind::ledger_lost, "ledger-lost", "the ledger's file is gone at a restart", 1min, 0},
     {Kind::ledger_older, "ledger-older",
      "the ledger's file is put back at a restart as it was so many hours ago", 1min, 6},
     {Kind::state_older, "state-older",
      "the whole state directory is put back at a restart as it was so many hours ago", 1min, 6},
     {Kind::state_moved, "state-moved", "the state directory lies elsewhere after a restart", 1min,
      0},
     {Kind::ledger_damaged, "ledger-damaged",
      "one bit of the ledger's file is another at a restart, at this share of its length", 1min,
      0.5},
     {Kind::inputs_change, "inputs-change",
      "the owner's inputs leave their usual value, again and again for so many minutes", 6h, 20},
     {Kind::inputs_silent, "inputs-silent",
      "the owner's inputs say nothing, and in the last so many minutes another value than usual",
      2h, 0},
     {Kind::switched_off, "switched-off",
      "a person says 'limegate off', and releases it at the end", 6h, 0},
     {Kind::alkalinity_tested, "alkalinity-tested",
      "a person writes down a test of so many dKH, and at the end one of the file's", 8h, 12},
     {Kind::afar_commands, "afar-commands",
      "somebody sends every command there is from afar, one in so many seconds", 2h, 30},
     {Kind::crash, "crash", "the program dies before this one of its next writes and commands", 5s,
      0},
     {Kind::power_cut, "power-cut",
      "the machine goes off before this one of the next writes and commands; outlets fall off",
      10min, 0},
     {Kind::clock_step, "clock-step", "the wall clock jumps by this many hours", 0s, 25},
     {Kind::clock_unset, "clock-unset",
      "the wall clock stands this many hours behind, and nobody has set it since the boot", 30min,
      9}}};

}  // namespace

const std::vector<FaultKind>& fault_kinds() {
  static const std::vector<FaultKind> kinds{kKinds.begin(), kKinds.end()};
  return kinds;
}

const FaultKind& about(Fault::Kind kind) {
  return fault_kinds().at(static_cast<std::size_t>(kind));  // in the order of the kinds
}

bool puts_down(Kind kind) {
  return kind == Kind::crash || kind == Kind::power_cut || kind == Kind::ledger_lost ||
         kind == Kind::ledger_older || kind == Kind::state_older || kind == Kind::state_moved ||
         kind == Kind::ledger_damaged;
}

std::string time_text(Duration time) {
  if (time % 24h == 0s && time != 0s) {
    return fmt::format("{}d", time / 24h);
  }
  return time % 1h == 0s     ? fmt::format("{}h", time / 1h)
         : time % 1min == 0s ? fmt::format("{}min", time / 1min)
                             : fmt::format("{}s", time / 1s);
}

std::string to_text(const Fault& fault) {
  const std::string lasting =
      fault.lasting > Duration::zero() ? ":" + time_text(fault.lasting) : "";
  return fmt::format("{}@{}{}={}", about(fault.kind).name, time_text(fault.at), lasting,
                     fault.value);
}

tl::expected<Fault, std::string> parse_fault(std::string_view text, Duration rehearsed) {
  const std::size_t at = text.find('@');
  if (at == std::string_view::npos) {
    return refuse(text, "there is no '@' with a time");
  }
  const std::string_view name = text.substr(0, at);
  const auto& kinds = fault_kinds();
  const auto found = std::find_if(kinds.begin(), kinds.end(),
                                  [&](const FaultKind& kind) { return name == kind.name; });
  if (found == kinds.end()) {
    std::string names;
    for (const FaultKind& kind : kinds) {
      names += (names.empty() ? "" : ", ") + std::string{kind.name};
    }
    return refuse(text, "this fault is not known; there are: " + names);
  }
  Fault fault{found->kind, {}, found->lasting, found->value};
  std::string_view rest = text.substr(at + 1);
  if (const std::size_t equals = rest.find('='); equals != std::string_view::npos) {
    const auto value = number(rest.substr(equals + 1));
    if (!value) {
      return refuse(text, "what follows '=' is not a number");
    }
    if (const auto why = absurd(found->kind, *value); !why.empty()) {
      return refuse(text, why);
    }
    fault.value = *value;
    rest = rest.substr(0, equals);
  }
  if (const std::size_t colon = rest.find(':'); colon != std::string_view::npos) {
    const auto lasting = time(rest.substr(colon + 1));
    if (!lasting) {
      return refuse(text, "what follows ':' is not a time");
    }
    if (*lasting < 1s) {
      return refuse(text, "it would last no time");
    }
    fault.lasting = *lasting;
    rest = rest.substr(0, colon);
  }
  const auto start = time(rest);
  if (!start) {
    return refuse(text, "what follows '@' is not a time");
  }
  if (*start >= rehearsed) {
    return refuse(text,
                  fmt::format("it would begin after the {:.1f} days that are rehearsed",
                              std::chrono::duration<double, std::ratio<86400>>(rehearsed).count()));
  }
  fault.at = *start;
  return fault;
}

}  // namespace limegate::rehearsal
