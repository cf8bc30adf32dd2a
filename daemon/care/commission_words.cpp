#include "care/commission_words.h"

#include <cstdlib>

#include <fmt/format.h>

#include "care/mixture.h"
#include "care/powder.h"

namespace limegate::care {
namespace {

/// TRADE.md, common practice of placing a reactor.
constexpr const char* kPlace =
    "The reactor stands upright and flat, locked away from children and animals.\n"
    "The pump pushes fresh water in at the bottom of the reactor; it never carries limewater.\n"
    "The line ends above the water, where the flow is strong, away from pumps and heaters.\n"
    "Every mains lead has a drip loop and residual-current protection. Local codes come first, and "
    "a licensed electrician where they ask for one.\n";

std::string facts_of(const Plant& plant) {
  return fmt::format(
      "Your file says: {:g} L of water, sump included; {:g} mL evaporate a day; the reactor is "
      "{:g} "
      "mm wide inside; the pump gives {:g} mL/min at the most; stirred limewater settles for "
      "{:.0f} "
      "min.\n"
      "If one of these is wrong, correct the file and start limegate again.\n",
      plant.water.count(), plant.evaporation_per_day.count(), plant.bore.count(),
      plant.pump_rate.count(), in_minutes(plant.settles));
}

/// Cautions: ICSC 0408, ECHA; CARE.md, section 9.
std::string charge_words(const Plant& plant) {
  const Interval charge = charge_of(plant.bore);
  return fmt::format(
      "Put {:.0f} to {:.0f} g of calcium hydroxide into the reactor: common practice for {:g} mm. "
      "More cakes and overloads the stirrer's motor; less is soon used up.\n"
      "Danger: it irritates skin and airways and seriously damages eyes. Goggles, gloves, a P2 "
      "mask; raise no dust. No acids, no aluminium.\n"
      "Eyes: rinse at once, for 15 min at least, lenses out, then a doctor. Skin: clothes off, "
      "rinse. Inhaled: fresh air. Swallowed: rinse the mouth, no vomiting, a doctor.\n"
      "Keep the rest sealed, dry, labelled, and locked away from children.\n",
      charge.low, charge.high, plant.bore.count());
}

std::string proof_words(const Plant& plant) {
  return fmt::format(
      "The runs so far ended by themselves, and each outlet was read back as off.{}\n"
      "Now pull the plug of the bus while nothing runs: limegate status must say within a minute "
      "that an outlet or a probe can't be reached. Put it back, and it must go by itself.\n",
      plant.board_ends_runs ? ""
                            : " Your board ends no run by itself: if this computer dies while the "
                              "pump runs, only your limit in hardware ends it.");
}

std::string half_dose_words(const Plant& plant) {
  return fmt::format(
      "The day's volume becomes {:.0f} mL: half of the evaporation, no more than your file plans, "
      "and no more than 0.5 dKH a day while the demand is not known.\n"
      "Test the alkalinity each day of the first week, then weekly: limegate advise says more.\n",
      plant.first_volume.count());
}

}  // namespace

std::string asks_of(Step step, const Plant& plant) {
  switch (step) {
    case Step::place:
      return kPlace;
    case Step::facts:
      return facts_of(plant);
    case Step::charge:
      return charge_words(plant);
    case Step::water:
      return "Make a slurry of the powder with fresh water, by hand and without dust, and fill the "
             "reactor with fresh water to its top. Reverse-osmosis water: carbonate in the water "
             "uses powder up.\nClose the reactor, and look for leaks.\n";
    case Step::settle:
      return fmt::format(
          "The reactor is stirred once; then the limewater settles for {:.0f} min. Nothing is "
          "pumped before it is clear.\n",
          in_minutes(plant.settles));
    case Step::prime:
      return "Fill the line: the pump runs while you stand beside it, the end of the line in a "
             "cup. "
             "The run ends by itself, and all of it counts. Limewater is caustic: gloves and eye "
             "protection.\n";
    case Step::rate:
      return "Measure the pump: three timed runs into a measuring cylinder, with gloves and eye "
             "protection; five where they differ by 3 % or more.\n"
             "Pour back nothing that was in the cylinder; all of it counts.\n";
    case Step::probe:
      return "Check the pH probe in fresh buffers 7.00 and 10.01, and in the first one again. "
             "Rinse "
             "it between them, and never pour a buffer back.\n"
             "Dosing is held meanwhile, for no living tank shows such a pH.\n";
    case Step::proof:
      return proof_words(plant);
    case Step::tests:
      return "Test alkalinity and calcium. Limewater maintains and does not correct: 7 to 11 dKH "
             "and "
             "380 to 450 mg/L first. What is out of range is corrected with other means, not with "
             "this.\n";
    case Step::reference:
      return "Three days without dosing: their mean pH is the reference that a slow rise is judged "
             "against later. Leave the station alone.\n";
    case Step::half_dose:
      return half_dose_words(plant);
  }
  std::abort();
}

std::string cost_of_skipping(Step step) {
  switch (step) {
    case Step::place:
      return "A reactor that tips, leaks or is reached by a child, and a line that siphons, are "
             "guarded by nothing in this program.";
    case Step::facts:
      return "Every limit is worked out from these facts: a wrong volume makes each of them wrong.";
    case Step::charge:
      return "The book does not know the powder: nobody says when it is used up, and what is "
             "pumped "
             "then is plain water.";
    case Step::water:
      return "Dry powder cakes under the water, and air in the reactor is pumped as limewater.";
    case Step::settle:
      return "Unsettled limewater is milk: many times the dose at once. The station waits for it "
             "to "
             "settle all the same.";
    case Step::prime:
      return "The first pulses push air: they count and bring nothing.";
    case Step::rate:
      return "Half of the planned volume is given at most until a run has confirmed the pump's "
             "rate, "
             "unless the file dates it; a wrong rate makes every volume wrong.";
    case Step::probe:
      return "A probe that is off by 0.2 holds dosing for nothing, or lets it pass the ceiling.";
    case Step::proof:
      return "Nobody has seen that a run ends when the bus is cut.";
    case Step::tests:
      return "Limewater keeps a wrong balance wrong; pulses are sized for the most sensitive "
             "water, "
             "or by what the file says.";
    case Step::reference:
      return "Without a reference a slow rise of the pH can't be judged, now or later.";
    case Step::half_dose:
      return "The day's volume stays at what it is now: 0 mL if this command set it. Say it by "
             "limegate volume.";
  }
  std::abort();
}

}  // namespace limegate::care
