#include "alerts/kind.h"

#include <algorithm>
#include <cstdlib>
#include <map>

namespace limegate::alerts {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

using U = Urgency;
using Ends = Kind::Ends;

/// What a probe's holds come to, whichever of them it is.
constexpr std::string_view kProbeConsequence =
    "Without it nothing is dosed: calcium and alkalinity fall by a day's use each day.";
constexpr std::string_view kStarves =
    "Calcium and alkalinity fall by what the corals use each day.";
constexpr std::string_view kMayFlow =
    "Limewater may be flowing that nobody commanded: too much of it kills within hours.";
constexpr std::string_view kStopFlow =
    "Go to the tank now. Unplug the pump, look at the hose, test the pH by hand. When it is "
    "mended: "
    "limegate release.";

/// How long a probe's trouble is no more than a loose plug, or somebody's hands in the sump.
constexpr Duration kFound = 30min;
/// What the station learns from days of doses is known again only after as many.
constexpr Duration kFoundLater = 72h;

Kind probe(std::string_view id, std::string_view action) {
  return {id, U::act_today, Ends::with_cause, kProbeConsequence, action, 24h, 0s, 5min, kFound};
}

/// What a keeper does from time to time.
Kind upkeep(std::string_view id, std::string_view consequence, std::string_view action) {
  return {id, U::when_you_can, Ends::with_cause, consequence, action, 24h * 7, 0s, 0s, kFound};
}

// A row a kind: splitting it would only hide it.
// NOLINTNEXTLINE(readability-function-size)
std::vector<Kind> table() {
  return {
      // Limewater may flow, or flows.
      {"ph-second-ceiling", U::act_now, Ends::by_release,
       "The pH is so high that animals are harmed.",
       "Go to the tank now. Unplug the pump, test the pH by hand, find out what raised it. When it "
       "is mended: limegate release.",
       1h, 0s, 0s, kFound},
      {"ph-climb-goes-on", U::act_now, Ends::by_release, kMayFlow, kStopFlow, 1h, 0s, 0s, kFound},
      {"pump-stuck-on", U::act_now, Ends::by_release, kMayFlow, kStopFlow, 10min, 0s, 0s, kFound},
      {"pump-found-on", U::act_now, Ends::by_release, kMayFlow,
       "Find out who or what switches the pump: another program, a person, a relay that sticks.",
       10min, 0s, 0s, kFound},
      {"pump-timer-failed", U::act_now, Ends::by_release,
       "The board does not end a pulse by itself: were this program to die, the pump would run on.",
       "Look at the relay board and its timer. When it is mended: limegate release.", 1h, 0s, 0s,
       kFound},
      {"pump-off-late", U::act_now, Ends::with_cause, kMayFlow,
       "Go to the tank now. Unplug the pump, then look at the relay board, its power and its line.",
       10min, 0s, 0s, kFound},
      {"pump-unconfirmed", U::act_now, Ends::with_cause,
       "Nobody knows whether the pump is off, and nothing is dosed until that is known.",
       "Look at the pump and at the relay board, its power and its line.", 1h, 0s, 5min, kFound},
      {"bus-hangs", U::act_now, Ends::with_cause, kMayFlow,
       "Go to the tank now and look at the pump. Unplug the adapter of the bus and plug it in "
       "again.",
       10min, 0s, 0s, 10min},
      // Milk, and a reactor that is not stirred.
      {"stirrer-stuck-on", U::act_today, Ends::by_release,
       "While the reactor is stirred nothing can be dosed; what flows by a fault would be milk.",
       "Unplug the stirrer and look at its relay. When it is mended: limegate release.", 12h, 0s,
       0s, kFound},
      {"stirrer-found-on", U::act_today, Ends::by_release,
       "While the reactor is stirred nothing can be dosed; what flows by a fault would be milk.",
       "Find out who or what switches the stirrer: another program, a person, a relay that sticks.",
       12h, 0s, 0s, kFound},
      {"stirrer-unconfirmed", U::act_today, Ends::with_cause,
       "Nobody knows whether the reactor is being stirred, and nothing is dosed until that is "
       "known.",
       "Look at the stirrer and at the relay board, its power and its line.", 24h, 0s, 5min,
       kFound},
      {"stirrer-unknown", U::act_today, Ends::with_cause,
       "Nobody knows whether the reactor is being stirred, and nothing is dosed until that is "
       "known.",
       "Look at the input that tells of the stirrer: its contact, its cable, its board.", 24h, 0s,
       5min, kFound},
      {"stir-overdue", U::act_today, Ends::with_cause,
       "The powder is not stirred up: the limewater grows weak, and nothing is dosed.",
       "Look at the stirrer and its timer, and at the input that tells of it.", 24h, 0s, 5min, 6h},
      {"stir-endless", U::act_today, Ends::with_cause,
       "While the reactor is stirred nothing can be dosed.",
       "Look at the stirrer and its timer, and at the input that tells of it.", 24h, 0s, 5min, 6h},
      // A pump that gives too much or nothing.
      {"effect-too-large", U::act_today, Ends::by_release,
       "Each dose does far more than it should: the pump gives more than the file says, or it is "
       "not limewater.",
       "Measure what the pump gives with a cylinder and test the alkalinity. When it is settled: "
       "limegate release.",
       24h, 0s, 0s, kFound},
      {"alkalinity-too-high", U::act_today, Ends::by_release,
       "Alkalinity is higher than corals bear for long, and limewater would raise it further.",
       "Test it again, by another kit if you can. Give nothing that raises it; a newer test below "
       "the limit lets dosing go on: limegate record.",
       24h, 0s, 0s, kFound},
      {"alkalinity-low", U::act_today, Ends::with_cause, "Corals stop growing and suffer.",
       "Test it again. Raise it by other means, by at most 0.5 dKH a day; then look at how much "
       "limewater is given: limegate advise.",
       24h, 0s, 0s, kFound},
      {"dose-beyond-chemistry", U::act_today, Ends::with_cause,
       "Doses do more than any sound station's; half of the volume is given.",
       "Measure what the pump gives with a cylinder, and test the alkalinity.", 48h, 0s, 0s,
       kFoundLater},
      {"dose-without-effect", U::act_today, Ends::with_cause, kStarves,
       "Look for spent powder, a dry or dead pump, and a hose that came off: limewater on the "
       "floor "
       "is caustic.",
       24h, 0s, 0s, kFoundLater},
      {"dose-effect-declined", U::when_you_can, Ends::with_cause, kStarves,
       "Look at the age of the powder and at the pump's tube; measure what the pump gives.", 72h,
       0s, 0s, kFoundLater},
      {"pump-not-on", U::act_today, Ends::with_cause, kStarves,
       "The pump did not switch on when it was told to: look at the relay board and its fuse.", 24h,
       0s, 0s, 12h},
      // Silence.
      {"dosing-stopped", U::act_today, Ends::with_cause, kStarves,
       "Read why with limegate status, and mend what it names.", 24h, 0s, 0s, 7h},
      {"dosing-below-plan", U::act_today, Ends::when_seen, kStarves,
       "Read with limegate status what holds it, and mend what it names.", 24h, 0s, 0s, 0s},
      // Probes.
      {"bus-silent", U::act_today, Ends::with_cause,
       "Nothing on this bus answers: without its probes nothing is dosed.",
       "Look at the adapter, the power and the cable of the bus.", 24h, 0s, 5min, kFound},
      probe("ph-missing", "Look at the pH probe's transmitter: its power, its cable, its address."),
      probe("ph-stale", "Look at the pH probe's transmitter: its power and its cable."),
      probe("ph-not-a-number", "Look at the pH probe and its plug."),
      probe("ph-implausible", "Look whether the pH probe is in the water, and at its plug."),
      probe("ph-stuck", "Look at the pH probe and its transmitter: its value does not move."),
      probe("second-ph-*", "Look at the second pH probe: its plug, its transmitter, its cable."),
      probe("ph-probes-disagree",
            "Check both pH probes in a buffer solution; calibrate or replace the wrong one."),
      probe("temperature-missing", "Look at the temperature probe: its power, cable and address."),
      probe("temperature-stale", "Look at the temperature probe: its power and its cable."),
      probe("temperature-not-a-number", "Look at the temperature probe and its plug."),
      probe("temperature-implausible", "Look whether the temperature probe is in the water."),
      probe("temperature-stuck", "Look at the temperature probe: its value does not move."),
      {"temperature-unusual", U::act_now, Ends::with_cause,
       "Water that is too cold or too warm kills corals within a day.",
       "Look after heater and cooling.", 3h, 0s, 5min, kFound},
      // The machine and its record.
      {"ledger-not-writable", U::act_today, Ends::with_cause, kProbeConsequence,
       "Look at the room and the health of the disk that holds the state directory.", 24h, 0s, 0s,
       10min},
      {"disk-slow", U::act_today, Ends::with_cause,
       "What can't be written down in time is not dosed.",
       "Replace the memory card or disk soon: cards grow slow before they die.", 48h, 1min, 1min,
       1h},
      {"ledger", U::act_today, Ends::when_seen,
       "What was lost of the record counts as given, so that less is dosed for a day.",
       "Look at the state directory and its disk.", 24h, 0s, 0s, 0s},
      {"record", U::act_today, Ends::by_release,
       "It is not known which holds waited for a person, so nothing is dosed.",
       "Look at the tank, then: limegate release.", 24h, 0s, 0s, kFound},
      {"record-not-written", U::when_you_can, Ends::with_cause,
       "The past is not shown, and a restart knows nothing of the last half hour.",
       "Look at the state directory and its disk.", 72h, 0s, 0s, 1h},
      {"record-set-aside", U::when_you_can, Ends::when_seen,
       "The page and the reports show less of the past.",
       "Look at the state directory's disk. The damaged file is kept there beside the new one.",
       72h, 0s, 0s, 0s},
      {"witness-not-writable", U::when_you_can, Ends::with_cause,
       "Should the state directory be lost, put back or moved, nobody would notice.",
       "Make the witness directory writable for limegate.", 72h, 0s, 0s, 10min},
      {"clock-not-set", U::when_you_can, Ends::with_cause,
       "Rules with hours hold, and the day's volume is given evenly.",
       "See to the machine's time service.", 72h, 0s, 0s, 1h},
      {"noted-release-given-up", U::when_you_can, Ends::when_seen,
       "What was to be released while limegate stood still is held on.",
       "Say it again if it is still held: limegate release.", 24h, 0s, 0s, 0s},
      {"switched-off", U::act_today, Ends::by_release, kStarves,
       "Everything was switched off by hand. When it may go on: limegate release switched-off.",
       24h, 0s, 0s, kFound},
      // Afar.
      {"mqtt-broker", U::when_you_can, Ends::with_cause,
       "Nobody afar sees this station. Dosing goes on.",
       "Look at the broker, the network, the name and the password.", 72h, 0s, 1min, 26h},
      {"mqtt-id-taken", U::when_you_can, Ends::with_cause,
       "Two programs with one id throw each other out; neither is seen from afar.",
       "Give one of them another 'device' in the file.", 72h, 0s, 1min, 1h},
      // What the daemon can't tell itself: delivery does.
      {"daemon-silent", U::act_now, Ends::with_cause, "Nothing is dosed and nothing is watched.",
       "Look whether the board has power: systemctl status limegate, and its journal.", 1h, 0s, 0s,
       5min},
      {"daemon-crashes", U::act_today, Ends::with_cause, kStarves,
       "Read its journal: journalctl -u limegate. Keep the state directory for whoever mends it.",
       24h, 0s, 0s, 10min},
      {"daemon-watchdog", U::act_today, Ends::when_seen,
       "Something made it hang; it may come again.",
       "Read its journal: journalctl -u limegate. Look at disk, buses and load.", 24h, 0s, 0s, 0s},
      {"config-refused", U::act_now, Ends::with_cause, kStarves,
       "Run limegate check with the file and mend what it names, then: systemctl start limegate.",
       3h, 0s, 0s, 10min},
      {"delivery-stuck-*", U::act_today, Ends::with_cause,
       "What needs you does not reach you on that way.",
       "Look at the network, the address, the password: limegate alerts test.", 24h, 0s, 0s, 2h},
      {"delivery-refused", U::when_you_can, Ends::when_seen,
       "That message is lost on that way; others went.",
       "Look at what the receiver expects: limegate alerts test.", 72h, 0s, 0s, 0s},
      {"commissioning-waits", U::act_today, Ends::with_cause, kStarves,
       "Go on where it was left: limegate commission. Or set a day's volume: limegate volume.", 48h,
       0s, 0s, kFoundLater},
      // Upkeep that is due.
      upkeep("upkeep-refill", "Without powder limewater is water, and corals starve.",
             "Refill it after limegate work; lime is caustic: gloves and eye protection. Then: "
             "limegate record powder."),
      upkeep("upkeep-clean", "Chalk takes up the room of the powder, and clogs lines and pump.",
             "Clean it after limegate work. Then: limegate record cleaned."),
      upkeep("upkeep-calibrate", "A pH that is off holds dosing back too soon, or too late.",
             "Calibrate the probe in fresh buffers. Then: limegate record calibrated."),
      upkeep("upkeep-tube", "A worn tube gives less than is counted, or bursts.",
             "Replace it, and measure the rate anew. Then: limegate record new-tube."),
      upkeep("upkeep-rate", "A pump whose rate has drifted gives other than is counted.",
             "Measure it: limegate run-attended, then limegate confirm-rate and record rate."),
      upkeep("upkeep-buffers", "Opened buffers drift, and so does what is calibrated in them.",
             "Open new ones. Then: limegate record new-buffers."),
      upkeep("upkeep-kit", "An old kit reads off, and advice goes by it.",
             "Open a new one. Then: limegate record new-kit."),
      upkeep("upkeep-electrode", "An old electrode answers slowly and reads off.",
             "Replace and calibrate it. Then: limegate record new-electrode."),
      // Rules of the owner.
      {"rule-*", U::act_today, Ends::with_cause, "It is what the owner's own rule is there for.",
       "Do what the rule was written for; its sentence names the input.", 24h, 0s, 0s, kFound},
      // A latch that this version does not know.
      {"*", U::act_today, Ends::by_release, "A hold of another version waits for a person.",
       "Look at the tank and at limegate status, then: limegate release.", 24h, 0s, 0s, kFound},
  };
}

bool matches(std::string_view pattern, std::string_view id) {
  if (!pattern.empty() && pattern.back() == '*') {
    pattern.remove_suffix(1);
    return id.substr(0, pattern.size()) == pattern;
  }
  return pattern == id;
}

bool ends_with(std::string_view id, std::string_view end) {
  return id.size() >= end.size() && id.substr(id.size() - end.size()) == end;
}

/// What a day without limewater raises of itself.
bool is_silence(std::string_view id) { return id == "dosing-stopped" || id == "dosing-below-plan"; }

}  // namespace

const char* name_of(Urgency urgency) {
  switch (urgency) {
    case Urgency::act_now:
      return "act-now";
    case Urgency::act_today:
      return "act-today";
    case Urgency::when_you_can:
      return "when-you-can";
  }
  std::abort();
}

const std::vector<Kind>& kinds() {
  static const std::vector<Kind> all = table();
  return all;
}

const Kind& kind_of(std::string_view id) {
  static const std::map<std::string_view, const Kind*> exact = [] {
    std::map<std::string_view, const Kind*> by_id;
    for (const Kind& kind : kinds()) {
      by_id.emplace(kind.id, &kind);
    }
    return by_id;
  }();
  const auto found = exact.find(id);
  return found != exact.end()
             ? *found->second
             : *std::find_if(kinds().begin(), kinds().end(),
                             [&](const Kind& kind) { return matches(kind.id, id); });
}

bool explains(std::string_view cause, std::string_view other) {
  if (cause == other) {
    return false;
  }
  if (cause == "bus-silent") {
    return is_silence(other) || other == "stirrer-unknown" || ends_with(other, "-stale") ||
           ends_with(other, "-missing") || ends_with(other, "-unconfirmed");
  }
  if (cause == "config-refused" || cause == "daemon-crashes") {
    return other == "daemon-silent";
  }
  if (cause == "ledger-not-writable" || cause == "disk-slow") {
    return is_silence(other) || other == "record-not-written";
  }
  if (!is_silence(other)) {
    return false;
  }
  // Whatever holds dosing explains that it was silent; doses that do nothing do not hold it.
  const bool told_beside_dosing =
      is_silence(cause) || ends_with(cause, "-declined") || ends_with(cause, "-without-effect") ||
      ends_with(cause, "-unusual") || cause == "dose-beyond-chemistry" || cause == "ledger" ||
      kind_of(cause).urgency == Urgency::when_you_can || cause.substr(0, 5) == "rule-";
  return !told_beside_dosing;
}

}  // namespace limegate::alerts
