#include "rehearsal/campaign.h"

#include <algorithm>
#include <atomic>
#include <chrono>
#include <mutex>
#include <random>
#include <thread>

namespace limegate::rehearsal {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

constexpr Duration kFaultEvery = 10h;
constexpr Duration kLastingMax = 12h;

void add(CampaignOutcome& sum, std::uint64_t seed, const std::vector<Fault>& faults,
         const Outcome& outcome) {
  ++sum.courses;
  sum.lasted += outcome.lasted;
  for (const Fault& fault : faults) {
    ++sum.faults[fault.kind];
  }
  sum.pulses += outcome.pulses;
  sum.restarts += outcome.restarts;
  sum.alerts += outcome.alerts.size();
  sum.ph_high = std::max(sum.ph_high, outcome.ph_high);
  sum.longest_silence = std::max(sum.longest_silence, outcome.longest_silence);
  for (const std::string& promise : outcome.violations) {
    sum.broken.push_back({seed, promise});
  }
}

}  // namespace

std::vector<Fault> random_faults(std::uint64_t seed, Duration lasting) {
  std::mt19937_64 random{seed};
  // Not a distribution of the library: those differ from one library to the next.
  const auto up_to = [&](Duration most) {
    const auto seconds = static_cast<std::uint64_t>(most / 1s);
    return std::chrono::seconds{1 + random() % std::max<std::uint64_t>(seconds, 1)};
  };
  std::vector<Fault> faults;
  const auto& kinds = fault_kinds();
  for (auto count = lasting / kFaultEvery; count > 0; --count) {
    const FaultKind& kind = kinds[random() % kinds.size()];
    Fault fault{kind.kind, up_to(lasting), up_to(std::min(kind.lasting, kLastingMax)), kind.value};
    if (kind.kind == Fault::Kind::clock_step) {
      fault.value = static_cast<double>(random() % 100) - 50.0;
    } else if (kind.kind == Fault::Kind::ph_offset && random() % 2 == 0) {
      fault.value = -fault.value;
    }
    faults.push_back(fault);
  }
  return faults;
}

CampaignOutcome run_campaign(const Rehearsal::Plan& plan, std::uint64_t first_seed,
                             std::size_t count, const std::function<void(std::size_t)>& progress) {
  std::vector<CampaignOutcome> parts(std::max(1U, std::thread::hardware_concurrency()));
  std::atomic<std::size_t> next{0};
  std::atomic<std::size_t> done{0};
  std::vector<std::thread> threads;
  threads.reserve(parts.size());
  for (CampaignOutcome& part : parts) {
    threads.emplace_back([&] {
      for (std::size_t n = next++; n < count; n = next++) {
        Rehearsal::Plan course = plan;
        const std::uint64_t seed = first_seed + n;
        course.tank.seed = seed;
        course.keeper = Rehearsal::Plan::Keeper::comes_twice_a_day;
        course.faults = random_faults(seed, plan.lasting);
        add(part, seed, course.faults, Rehearsal{course}.run());
        ++done;
      }
    });
  }
  while (done < count) {
    std::this_thread::sleep_for(100ms);
    progress(done);
  }
  CampaignOutcome sum;
  for (std::size_t n = 0; n < parts.size(); ++n) {
    threads[n].join();
    const CampaignOutcome& part = parts[n];
    sum.courses += part.courses;
    sum.lasted += part.lasted;
    for (const auto& [kind, times] : part.faults) {
      sum.faults[kind] += times;
    }
    sum.pulses += part.pulses;
    sum.restarts += part.restarts;
    sum.alerts += part.alerts;
    sum.ph_high = std::max(sum.ph_high, part.ph_high);
    sum.longest_silence = std::max(sum.longest_silence, part.longest_silence);
    sum.broken.insert(sum.broken.end(), part.broken.begin(), part.broken.end());
  }
  std::sort(sum.broken.begin(), sum.broken.end(),
            [](const auto& a, const auto& b) { return a.seed < b.seed; });
  return sum;
}

}  // namespace limegate::rehearsal
