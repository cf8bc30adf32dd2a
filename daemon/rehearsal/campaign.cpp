#include "rehearsal/campaign.h"

#include <algorithm>
#include <array>
#include <atomic>
#include <chrono>
#include <random>
#include <thread>

namespace limegate::rehearsal {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using Kind = Fault::Kind;

constexpr Duration kFaultEvery = 10h;
constexpr Duration kLastingMax = 12h;
constexpr Duration kHealthyEnd = 48h;
constexpr Duration kDiesEvery = 40min;
constexpr std::uint64_t kDeathsMax = 30;
/// One course in so many may have something that creeps for most of it, and one slow fault in so
/// many a program that dies again and again.
constexpr std::uint64_t kCreepsOneIn = 2;
constexpr std::uint64_t kStormOneIn = 3;
/// One tank in so many is as its file says.
constexpr std::uint64_t kPlainOneIn = 4;

/// What one thread of a campaign came to.
struct Part {
  CampaignOutcome sum;
  std::string error;
};

CampaignOutcome one(const Rehearsal::Plan& course, const Outcome& outcome) {
  CampaignOutcome part;
  part.courses = 1;
  part.drawn = course.faults;
  part.habits = {course.tank, course.start};
  part.lasted = outcome.lasted;
  for (const Fault& fault : course.faults) {
    ++part.faults[fault.kind];
  }
  part.pulses = outcome.pulses;
  part.restarts = outcome.restarts;
  part.alerts = outcome.alerts.size();
  part.ph_high = outcome.ph_high;
  part.longest_silence = outcome.longest_silence;
  part.exposures = outcome.exposures;
  for (const std::string& promise : outcome.violations) {
    part.broken.push_back({course.tank.seed, promise});
  }
  return part;
}

/// Whether a station like this has what goes wrong.
bool concerns(Kind kind, const station::Settings& settings) {
  if (kind >= Kind::second_silent && kind <= Kind::second_fouling) {
    return settings.second_ph.has_value();
  }
  if (kind == Kind::outlets_silent || kind == Kind::alkalinity_tested) {
    return false;  // drawn, it would change what every recorded seed means; it is asked for by name
  }
  if (kind == Kind::stirrer_input_stuck) {
    return settings.stirrer == station::StirrerKind::observed;
  }
  if (kind == Kind::inputs_change || kind == Kind::inputs_silent) {
    return settings.owner.inputs.size() > rules::OwnerRulebook::kFirstOwn;
  }
  return true;
}

/// Whether it creeps: it may last for most of a course, and the program die again and again in it.
bool slow(Kind kind) {
  constexpr std::array<Kind, 21> kinds{
      Kind::ph_drift,     Kind::ph_slow,        Kind::ph_hum,
      Kind::ph_slope,     Kind::ph_fouling,     Kind::ph_compensation,
      Kind::second_drift, Kind::second_slow,    Kind::second_hum,
      Kind::second_slope, Kind::second_fouling, Kind::second_compensation,
      Kind::replies_late, Kind::pump_dead,      Kind::pump_fast,
      Kind::pump_worn,    Kind::siphon,         Kind::stirrer_dead,
      Kind::disk_slow,    Kind::powder_spent,   Kind::limewater_spoiled};
  return std::find(kinds.begin(), kinds.end(), kind) != kinds.end();
}

/// The value of what ails an electrode or the water; absent: of nothing of that.
std::optional<double> drawn_of_water(Kind kind, std::uint64_t random) {
  if (kind == Kind::ph_slope || kind == Kind::second_slope) {
    return 0.1 + static_cast<double>(random % 30) / 10.0;
  }
  if (kind == Kind::ph_compensation || kind == Kind::second_compensation) {
    return static_cast<double>(random % 41) - 20.0;
  }
  if (kind == Kind::ph_fouling || kind == Kind::second_fouling) {
    return static_cast<double>(10 + random % 600);
  }
  if (kind == Kind::precipitation) {
    return static_cast<double>(1 + random % 200);
  }
  if (kind == Kind::top_off) {
    return static_cast<double>(random % 2 * (random % 51));
  }
  if (kind == Kind::room_co2) {
    return 350.0 + static_cast<double>(random % 1200);
  }
  return std::nullopt;
}

/// The value of a fault, where it varies.
double drawn(const FaultKind& kind, std::uint64_t random) {
  if (const auto value = drawn_of_water(kind.kind, random)) {
    return *value;
  }
  if (kind.kind == Kind::clock_step) {
    return static_cast<double>(random % 100) - 50.0;
  }
  if (kind.kind == Kind::disk_slow) {
    constexpr std::array<double, 8> seconds{0.1, 0.3, 1, 2, 4, 6, 15, 30};
    return seconds.at(random % seconds.size());
  }
  if (kind.kind == Kind::ledger_older || kind.kind == Kind::state_older) {
    return static_cast<double>(1 + random % 30);
  }
  if (kind.kind == Kind::ledger_damaged) {
    return static_cast<double>(random % 1000) / 1000.0;
  }
  if (kind.kind == Kind::afar_commands) {
    return static_cast<double>(1 + random % 300);
  }
  if (kind.kind == Kind::inputs_silent) {
    return static_cast<double>(random % 30);
  }
  if (kind.kind == Kind::pump_fast) {
    return 1.2 + static_cast<double>(random % 90) / 10.0;
  }
  if (kind.kind == Kind::pump_worn) {
    return 0.5 + static_cast<double>(random % 100) / 10.0;
  }
  if (kind.kind == Kind::siphon) {
    return 0.2 + static_cast<double>(random % 100) / 10.0;
  }
  if (kind.kind == Kind::replies_late) {
    return static_cast<double>(1 + random % 8);
  }
  if (kind.kind == Kind::stirrer_input_stuck) {
    return static_cast<double>(random % 2);
  }
  if (kind.kind == Kind::ph_offset || kind.kind == Kind::second_offset ||
      kind.kind == Kind::temperature_offset) {
    // Up to twice the usual, either way: a small one stays just below a limit, or just above.
    return kind.value * (static_cast<double>(random % 4001) / 1000.0 - 2.0);
  }
  // At once, or between any two of the next effects.
  return puts_down(kind.kind) ? static_cast<double>(random % 12) : kind.value;
}

}  // namespace

void CampaignOutcome::add(const CampaignOutcome& part) {
  if (courses == 0) {
    drawn = part.drawn;
    habits = part.habits;
  }
  courses += part.courses;
  lasted += part.lasted;
  for (const auto& [kind, times] : part.faults) {
    faults[kind] += times;
  }
  pulses += part.pulses;
  restarts += part.restarts;
  alerts += part.alerts;
  ph_high = std::max(ph_high, part.ph_high);
  longest_silence = std::max(longest_silence, part.longest_silence);
  for (const auto& [kind, exposed] : part.exposures) {
    exposures[kind].add(exposed);
  }
  broken.insert(broken.end(), part.broken.begin(), part.broken.end());
  std::stable_sort(broken.begin(), broken.end(),
                   [](const Broken& a, const Broken& b) { return a.seed < b.seed; });
}

std::vector<Fault> random_faults(std::uint64_t seed, Duration lasting,
                                 const station::Settings& settings) {
  std::mt19937_64 random{seed};
  // Not a distribution of the library: those differ from one library to the next.
  const auto up_to = [&](Duration most) {
    const auto seconds = static_cast<std::uint64_t>(most / 1s);
    return std::chrono::seconds{1 + random() % std::max<std::uint64_t>(seconds, 1)};
  };
  const Duration within = lasting >= 2 * kHealthyEnd ? lasting - kHealthyEnd : lasting;
  std::vector<Fault> faults;
  std::vector<FaultKind> kinds = fault_kinds();
  std::erase_if(kinds, [&](const FaultKind& kind) { return !concerns(kind.kind, settings); });
  // A program that dies every few seconds, or minutes, for a while.
  const auto storm = [&](Duration from, Duration until) {
    const Duration every = up_to(kDiesEvery);
    const Duration begins = from + up_to(until - from);
    for (std::uint64_t deaths = 2 + random() % kDeathsMax; deaths > 0; --deaths) {
      const Duration at = begins + every * static_cast<std::int64_t>(deaths);
      if (at < until) {
        faults.push_back({Kind::crash, at, 1s, static_cast<double>(random() % 4)});
      }
    }
  };
  if (random() % kCreepsOneIn == 0) {
    const FaultKind& kind = kinds[random() % kinds.size()];
    if (slow(kind.kind)) {
      const Duration at = up_to(within / 4);
      faults.push_back({kind.kind, at, within - at, drawn(kind, random())});
    }
  }
  for (auto count = lasting / kFaultEvery; count > 0; --count) {
    const FaultKind& kind = kinds[random() % kinds.size()];
    const Duration at = up_to(within);
    const Duration longest =
        std::min({kind.lasting, kLastingMax, std::max(within - at, Duration{1s})});
    const Duration long_for = kind.lasting > Duration::zero() ? up_to(longest) : kind.lasting;
    faults.push_back({kind.kind, at, long_for, drawn(kind, random())});
    if (slow(kind.kind) && random() % kStormOneIn == 0) {
      storm(at, at + long_for);
    }
  }
  return faults;
}

Habits random_habits(std::uint64_t seed, const Habits& usual) {
  std::mt19937_64 random{~seed};
  const auto up_to = [&](std::uint64_t most) { return static_cast<double>(random() % (most + 1)); };
  Habits drawn = usual;
  if (random() % kPlainOneIn == 0) {
    return drawn;
  }
  simulator::AquariumSettings& water = drawn.tank.aquarium;
  water.habits.water_change = Percent{up_to(25)};
  water.habits.water_change_days = static_cast<int>(1 + random() % 14);
  water.habits.feeding = MicromolPerKg{up_to(50)};
  water.habits.feedings_per_day = static_cast<int>(1 + random() % 4);
  water.habits.skimmate_per_day = Millilitres{water.water.count() * up_to(20) / 10.0};
  water.habits.season_swing = up_to(40) / 100.0;
  drawn.tank.reactor.layers = static_cast<int>(1 + random() % 20);
  drawn.start += std::chrono::days{random() % 365};
  return drawn;
}

tl::expected<CampaignOutcome, std::string> run_campaign(
    const Rehearsal::Plan& plan, std::uint64_t first_seed, std::size_t count,
    const std::function<void(std::size_t)>& progress) {
  std::vector<Part> parts(std::max(1U, std::thread::hardware_concurrency()));
  std::atomic<std::size_t> next{0};
  std::atomic<std::size_t> done{0};
  std::vector<std::thread> threads;
  threads.reserve(parts.size());
  for (Part& part : parts) {
    threads.emplace_back([&] {
      for (std::size_t n = next++; n < count; n = next++) {
        Rehearsal::Plan course = plan;
        const std::uint64_t seed = first_seed + n;
        const Habits habits = random_habits(seed, {plan.tank, plan.start});
        course.tank = habits.tank;
        course.start = habits.start;
        course.tank.seed = seed;
        course.keeper = Rehearsal::Plan::Keeper::comes_twice_a_day;
        course.faults = random_faults(seed, plan.lasting, plan.settings);
        if (const auto outcome = Rehearsal{course}.run()) {
          part.sum.add(one(course, *outcome));
        } else {
          part.error = outcome.error();
        }
        ++done;
      }
    });
  }
  while (done < count) {
    std::this_thread::sleep_for(100ms);
    progress(done);
  }
  CampaignOutcome sum;
  std::string error;
  for (std::size_t n = 0; n < parts.size(); ++n) {
    threads[n].join();
    sum.add(parts[n].sum);
    error = error.empty() ? parts[n].error : error;
  }
  if (!error.empty()) {
    return tl::unexpected(error);
  }
  return sum;
}

}  // namespace limegate::rehearsal
