#include "config/station_reader.h"

#include <algorithm>
#include <chrono>
#include <limits>
#include <string>

#include <fmt/format.h>

#include "config/input_reader.h"
#include "config/parts_reader.h"
#include "config/question.h"
#include "config/rule_reader.h"
#include "config/site_bounds.h"
#include "dosing/plan_fit.h"

namespace limegate::config {
namespace {

/// "No change in the last digit" takes longer to mean something the coarser the digit is.
/// Source: our own reasoning; 3 h at 0.01 and 30 min at 0.001 for pH.
double stuck_after_min(double resolution) { return resolution >= 0.005 ? 180.0 : 30.0; }

void read_conditioning(TableReader& reader, Station& station) {
  rules::Limits& limits = station.settings.limits;
  const double age_s =
      reader.number("reading_age_s", {1, 60, "an older reading is no evidence"}, 10);
  limits.reading_age_max = seconds_of(age_s);
  limits.reading_age_flowing = seconds_of(reader.number(
      "reading_age_flowing_s", {1, 5, "while limewater flows the probe must be heard"}, 2));
  limits.ph_plausible_low = reader.number("ph_plausible_low", {7.0, 8.0}, 7.1);
  limits.ph_plausible_high = reader.number("ph_plausible_high", {8.5, 9.2}, 9.2);
  // Above what is plausible no ceiling can be reached, and the second one would never latch.
  if (!(limits.second_ceiling.count() < limits.ph_plausible_high)) {
    reader.complain("ph_second_ceiling",
                    fmt::format("{:.2f} must be below ph_plausible_high, {:.2f}",
                                limits.second_ceiling.count(), limits.ph_plausible_high));
  }
  limits.temperature_plausible_low = reader.number("temperature_low_c", {15, 28}, 15);
  limits.temperature_plausible_high = reader.number("temperature_high_c", {22, 35}, 35);

  signal::Conditioning& ph = station.settings.ph;
  ph.plausible_low = limits.ph_plausible_low;
  ph.plausible_high = limits.ph_plausible_high;
  ph.age_max = limits.reading_age_max;
  ph.stuck_after =
      minutes_of(reader.number("ph_stuck_after_min", {1, 720}, stuck_after_min(ph.resolution)));
  ph.jump = reader.number("ph_jump", {0.01, 0.5}, 0.3);

  limits.ph_disagreement = PhChange{reader.number(
      "ph_disagreement", {0.02, 0.15, "probes that differ by more tell nothing"}, 0.10)};
  if (auto& second = station.settings.second_ph) {
    const double resolution = second->resolution;
    second = ph;
    second->resolution = resolution;
    second->stuck_after = std::max(ph.stuck_after, minutes_of(stuck_after_min(resolution)));
  }

  signal::Conditioning& temperature = station.settings.temperature;
  temperature.plausible_low = limits.temperature_plausible_low;
  temperature.plausible_high = limits.temperature_plausible_high;
  temperature.age_max = limits.reading_age_max;
  // A heater holds a tank within one digit for hours; only a day's course shows a dead sensor.
  temperature.stuck_after = minutes_of(reader.number("temperature_stuck_after_min", {1, 720}, 720));
  temperature.jump = reader.number("temperature_jump_c", {0.1, 5}, 2);
}

/// What a volume is where the file does not say. With a tested alkalinity chemistry sizes each
/// pulse by the present water, so it may be what fits at a high pH; without one it has to fit all.
Millilitres usual_volume(PhChange rise, PhChange bound, const Station& station) {
  const Litres water = station.settings.water.volume;
  const auto fits = volume_at(kHighPh, rise, station.settings.water);
  return fits ? std::min(*fits, volume_for_rise(bound, water)) : volume_for_rise(rise, water);
}

void read_ph_limits(TableReader& reader, Station& station) {
  rules::Limits& limits = station.settings.limits;
  limits.ceiling = Ph{reader.number("ph_ceiling", {7.5, 8.60, "hard bound of the ceiling"}, 8.45)};
  limits.ceiling_resume =
      Ph{reader.number("ph_ceiling_resume", {7.4, 8.59}, limits.ceiling.count() - 0.05)};
  limits.second_ceiling =
      Ph{reader.number("ph_second_ceiling", {7.6, 8.70, "hard bound of the second ceiling"}, 8.60)};
  if (!(limits.ceiling_resume < limits.ceiling)) {
    reader.complain("ph_ceiling_resume",
                    fmt::format("{:.2f} must be below ph_ceiling, {:.2f}",
                                limits.ceiling_resume.count(), limits.ceiling.count()));
  }
  if (!(limits.ceiling <= limits.second_ceiling)) {
    reader.complain("ph_second_ceiling",
                    fmt::format("{:.2f} must not be below ph_ceiling, {:.2f}",
                                limits.second_ceiling.count(), limits.ceiling.count()));
  }
  limits.climb = PhChange{
      reader.number("ph_climb", {0.02, 0.20, "hard bound of a climb within its window"}, 0.12)};
  limits.climb_window = minutes_of(reader.number("ph_climb_window_min", {10, 60}, 30));
  limits.climb_silence = seconds_of(
      reader.number("ph_climb_silence_s", {10, 120, "what nobody watched is no evidence"}, 60));
  limits.unusual_climb = PhChange{reader.number(
      "ph_unusual_climb", {0.02, 0.12, "hard bound of a climb beside the usual course"}, 0.088)};
  limits.rise = PhChange{
      reader.number("ph_rise", {0.02, 0.30, "hard bound of a rise above the reference"}, 0.20)};
  if (const auto& reference = station.settings.reference;
      reference && !(*reference < limits.ceiling_resume)) {
    reader.complain(
        "ph_ceiling_resume",
        fmt::format("{:.2f} is not above reference_ph, {:.2f}: dosing would never "
                    "resume. Raise it to {:.2f} at least, or correct the reference",
                    limits.ceiling_resume.count(), reference->count(), reference->count() + 0.01));
  }
}

void read_limits(TableReader& reader, Station& station) {
  rules::Limits& limits = station.settings.limits;
  limits.alkalinity_max =
      Dkh{reader.number("alkalinity_max_dkh", {7, 14, "above that water precipitates"}, 11)};
  limits.alkalinity_counts_for = minutes_of(
      24.0 * 60.0 * reader.number("alkalinity_test_days", {1, 30, "water changes in weeks"}, 14));
  read_ph_limits(reader, station);
  limits.settle = minutes_of(reader.number("settle_min", {20, 600, "milky limewater kills"}, 60));
  station.settings.plan.settle = limits.settle;
  limits.proven = minutes_of(reader.number("proven_min", {1, 120}, 5));

  limits.attended_duration = seconds_of(reader.number("max_attended_s", {10, 900}, 300));
  limits.attended_volume = Millilitres{reader.number("max_attended_ml", {1, 1000}, 300)};

  const Site& site = station.site;
  limits.hour_rise = PhChange{reader.number(
      "max_hour_rise_ph", {0.001, kHourRiseBound.count(), "more within an hour harms animals"},
      kHourRise.count())};
  limits.hour =
      Millilitres{reader.number("max_hour_ml",
                                {0, volume_for_rise(kHourRiseBound, site.water).count(),
                                 "more could raise the pH of this tank by 0.15 within an hour"},
                                usual_volume(limits.hour_rise, kHourRiseBound, station).count())};
  // A pulse counts until 24 h after its last drop, so the day's volume and one pulse: without that
  // each day's pulses would come a little later than the last one's, until their slots were missed.
  const dosing::PlanSettings& plan = station.settings.plan;
  const Millilitres usual =
      plan.day_volume +
      (plan.spread == dosing::Spread::even ? dosing::shape_of(plan).pulse_volume : plan.pulse_max);
  limits.day = Millilitres{
      reader.number("max_day_ml",
                    {0, day_bound(site).count(),
                     "the smaller of the evaporation and 20 mL per litre of tank water"},
                    std::min(day_bound(site), usual).count())};
  read_conditioning(reader, station);
  reader.finish();
}

void read_spread(TableReader& reader, dosing::PlanSettings& plan) {
  using dosing::Spread;
  using Missed = dosing::PlanSettings::Missed;
  plan.spread = reader.choice<Spread>(
      "spread",
      {{"even", Spread::even}, {"night", Spread::night}, {"levelling", Spread::levelling}});
  plan.missed =
      reader.choice<Missed>("missed", {{"dropped", Missed::dropped}, {"made-up", Missed::made_up}});
  if (plan.spread != Spread::night) {
    for (const char* key : {"night", "night_share_percent"}) {
      if (reader.has(key)) {
        reader.complain(key, "belongs to spread = \"night\" only");
      }
    }
    return;
  }
  plan.night = reader.maybe_hours("night").value_or(plan.night);
  // Above that a window by day gives next to nothing, and its silence says nothing.
  plan.night_share = reader.number("night_share_percent", {10, 90}, 100.0 * plan.night_share) / 100;
  constexpr Duration shortest = std::chrono::hours{4};
  if (plan.night.length() < shortest || plan.night.length() > std::chrono::hours{20}) {
    reader.complain("night", "must last 4 to 20 h");
  }
}

/// The longest pulse that the board can end by itself.
double timer_reach_s(const Station& station) {
  const Duration step = station.settings.plan.timer_step;
  return step > Duration::zero() ? in_seconds(modbus::longest(step))
                                 : std::numeric_limits<double>::infinity();
}

void read_plan(TableReader& reader, Station& station) {
  dosing::PlanSettings& plan = station.settings.plan;
  const Millilitres bound = day_bound(station.site);
  const Millilitres half = std::min(bound, station.site.evaporation_per_day / 2.0);
  plan.day_volume = Millilitres{reader.number(
      "day_volume_ml",
      {0, bound.count(), "the smaller of the evaporation and 20 mL per litre of tank water"},
      half.count())};
  station.settings.begins_with = half;
  rules::Limits& limits = station.settings.limits;
  limits.pulse_rise = PhChange{reader.number(
      "max_pulse_rise_ph", {0.001, kPulseRiseBound.count(), "more at once harms animals"},
      kPulseRise.count())};
  plan.pulse_max =
      Millilitres{reader.number("max_pulse_ml",
                                {0.1, volume_for_rise(kPulseRiseBound, station.site.water).count(),
                                 "more could raise the pH of this tank by 0.05 at once"},
                                usual_volume(limits.pulse_rise, kPulseRiseBound, station).count())};
  const double longest = std::min(120.0, timer_reach_s(station));
  plan.pulse_duration_max = seconds_of(reader.number(
      "max_pulse_s", {1, longest, longest < 120 ? "the most that the board's timer counts" : ""},
      longest));
  read_spread(reader, plan);
  reader.finish();
}

/// Refuses a plan that can't be kept, with the arithmetic.
void check_plan(TableReader& reader, const Station& station, std::vector<std::string>& warnings) {
  const dosing::PlanSettings& plan = station.settings.plan;
  const auto objections =
      dosing::objections_to(plan, station::plan_bounds(station.settings.limits));
  for (const std::string& objection : objections) {
    reader.complain("plan", objection);
  }
  if (const dosing::Upflow upflow = dosing::upflow_of(plan, dosing::fullest_weight(plan));
      objections.empty() && upflow.speed > dosing::kUpflowWarn) {
    warnings.push_back(reader.path() + ": " + upflow.arithmetic +
                       ", which may carry fine powder; watch the outlet for milk.");
  }
  if (const Millilitres half = *station.settings.begins_with; plan.day_volume > half) {
    warnings.push_back(fmt::format(
        "{}: day_volume_ml {:.1f} is more than half of the evaporation. A station that was hardly "
        "dosed yet begins with {:.1f} until 'limegate volume' says more.",
        reader.path(), plan.day_volume.count(), half.count()));
  }
  if (const auto bears =
          volume_at(kLowPh, station.settings.limits.pulse_rise, station.settings.water);
      objections.empty() && bears && dosing::least_pulse(plan) > *bears) {
    warnings.push_back(fmt::format(
        "{}: at pH {:.1f} this water bears {:.1f} mL at once (+{:.2f} pH), and one step of the "
        "board's timer gives {:.1f}: nothing will be dosed then. Use a finer timer or a slower "
        "pump.",
        reader.path(), kLowPh.count(), bears->count(), station.settings.limits.pulse_rise.count(),
        dosing::least_pulse(plan).count()));
  }
  const Millilitres hour = dosing::shape_of(plan, dosing::fullest_weight(plan)).hour_volume;
  if (const auto fits =
          volume_at(kLowPh, station.settings.limits.hour_rise, station.settings.water);
      objections.empty() && fits && hour > *fits) {
    warnings.push_back(fmt::format(
        "{}: at pH {:.1f} this water bears {:.1f} mL an hour (+{:.2f} pH), and the plan gives "
        "{:.1f}: some pulses will be dropped then. Stir more often, or give less a day.",
        reader.path(), kLowPh.count(), fits->count(), station.settings.limits.hour_rise.count(),
        hour.count()));
  }
}

void warn_of_unmeasured_pump(const TableReader& reader, const Station& station,
                             std::vector<std::string>& warnings) {
  if (!station.settings.pump_rate_dated) {
    warnings.push_back(
        reader.path() +
        ".pump: without rate_measured, the day on which the pump's rate was measured, half of the "
        "planned volume is given at most until a timed run has confirmed it: 'limegate "
        "run-attended' into a cylinder, then 'limegate confirm-rate'.");
  }
}

/// A number of the site. One that is missing or refused is told once; the largest stands in, so
/// that no bound that follows from it complains again.
double fact(TableReader& reader, const char* key, Bounds bounds) {
  const std::size_t before = reader.problem_count();
  const double number = reader.number(key, bounds);
  return reader.problem_count() == before ? number : bounds.high;
}

/// What chemistry needs to know of the water beside its pH and temperature.
void read_water(TableReader& reader, Station& station) {
  station::SiteWater& water = station.settings.water;
  water.volume = station.site.water;
  if (const auto dkh = reader.maybe_number(
          "alkalinity_dkh", {5, 14, "as tested last; correct it by other means, then dose"})) {
    water.alkalinity = Dkh{*dkh};
  }
  water.salinity = Salinity{reader.number("salinity", {30, 40}, water.salinity.count())};
}

/// The tank that a rehearsal goes by: the site's own facts, and what the file says beside them. A
/// wired station's table of it is for rehearsals alone.
void read_tank(TableReader& reader, Station& station) {
  simulator::TankSettings& tank = station.tank;
  tank.aquarium.water = station.site.water;
  tank.aquarium.evaporation_per_day = station.site.evaporation_per_day;
  tank.aquarium.salinity = station.settings.water.salinity;
  tank.aquarium.alkalinity = station.settings.water.alkalinity.value_or(tank.aquarium.alkalinity);
  // A charge lies as deep in any vessel.
  const double wider = station.site.reactor_bore / tank.reactor.bore;
  tank.reactor.powder_g *= wider * wider;
  tank.reactor.bore = station.site.reactor_bore;
  tank.pump_rate = station.settings.plan.pump_rate;
  if (!station.wiring || reader.has("simulation")) {
    TableReader simulation = reader.table("simulation");
    read_simulation(simulation, station);
  }
}

}  // namespace

Station read_station(TableReader& reader, WiringReader& wiring,
                     std::vector<std::string>& warnings) {
  Station station;
  station.settings.name = reader.text("name");
  if (!station.settings.name.empty() && !is_name(station.settings.name)) {
    reader.complain("name", "may hold only a-z, 0-9 and '-', 40 characters at most");
  }
  if (!station.settings.name.empty()) {
    reader.rename("station." + station.settings.name);
  }
  const std::size_t problems_before = reader.problem_count();
  station.site.water = Litres{fact(reader, "water_volume_l", {5, 100000})};
  station.site.evaporation_per_day =
      Millilitres{fact(reader, "evaporation_ml_per_day", {1, 2000000})};
  station.site.reactor_bore = Millimetres{fact(reader, "reactor_bore_mm", {20, 1000})};
  station.confirmed = reader.maybe_words("confirmed", station_question_ids());
  station.settings.plan.reactor_bore = station.site.reactor_bore;
  read_water(reader, station);
  if (const auto ph = reader.maybe_number(
          "reference_ph", {7.6, 8.5, "the mean of at least three days without dosing"})) {
    station.settings.reference = Ph{*ph};
  }
  const bool simulated = reader.flag("simulated", false);
  if (reader.told_of("simulated")) {
    reader.leave();
  } else if (simulated) {
    read_simulated_parts(reader, station);
  } else {
    read_wiring(reader, wiring, station);
  }
  read_tank(reader, station);
  TableReader plan = reader.table("plan");
  read_plan(plan, station);
  TableReader limits = reader.table("limits");
  read_limits(limits, station);
  station.given = plan.given();
  station.given.insert(station.given.end(), limits.given().begin(), limits.given().end());
  if (read_inputs(reader, wiring, station)) {
    read_rules(reader, station, warnings);
  } else {
    reader.knows("rule");  // what a rule may say hangs on what its input is
  }
  reader.finish();
  // What stands in for a faulty number would only be told to fit nothing.
  if (reader.problem_count() == problems_before) {
    check_plan(reader, station, warnings);
  }
  warn_of_unmeasured_pump(reader, station, warnings);
  return station;
}

}  // namespace limegate::config
