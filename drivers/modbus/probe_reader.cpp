#include "modbus/probe_reader.h"

#include <algorithm>
#include <chrono>
#include <iterator>
#include <optional>
#include <span>
#include <utility>

#include "modbus/decode.h"

namespace limegate::modbus {

using ports::BusFault;
using ports::Sample;

ProbeReader::ProbeReader(std::vector<ProbeSettings> probes, Devices& devices,
                         const ports::Clock& clock)
    : probes_(std::move(probes)), alone_(probes_.size(), false), devices_(devices), clock_(clock) {}

std::vector<PlannedRead> ProbeReader::plan(const std::vector<std::size_t>& known) const {
  auto plan = plan_reads(probes_, known, alone_);
  const auto failing = std::stable_partition(
      plan.begin(), plan.end(),
      [this](const PlannedRead& read) { return !devices_.is_failing(read.request.unit); });
  // In turn, or the first of many dead units would be the only one that is ever tried.
  std::stable_sort(failing, plan.end(), [this](const PlannedRead& a, const PlannedRead& b) {
    return devices_.next_try(a.request.unit) < devices_.next_try(b.request.unit);
  });
  return plan;
}

ProbeReader::Samples ProbeReader::unread(const std::vector<std::size_t>& probes,
                                         BusFault why) const {
  Samples samples;
  samples.reserve(probes.size());
  for (const std::size_t probe : probes) {
    samples.push_back({probe, tl::unexpected{why}, clock_.now().mono});
  }
  return samples;
}

ProbeReader::Samples ProbeReader::read(const std::vector<std::size_t>& wanted,
                                       const During& during) {
  std::vector<std::size_t> known;
  std::vector<std::size_t> unknown;
  std::partition_copy(wanted.begin(), wanted.end(), std::back_inserter(known),
                      std::back_inserter(unknown),
                      [this](std::size_t probe) { return probe < probes_.size(); });
  Samples rest = unread(unknown, BusFault::refused_by_device);
  const auto leave = [&](const PlannedRead& read, BusFault why) {
    const Samples left = unread(read.probes, why);
    rest.insert(rest.end(), left.begin(), left.end());
  };
  bool first = true;
  std::optional<int> in_vain;  // a failing unit that is still silent
  bool stopped = false;
  for (const PlannedRead& read : plan(known)) {
    const int unit = read.request.unit;
    if (in_vain && *in_vain != unit && devices_.is_failing(unit)) {
      leave(read, BusFault::backing_off);
      continue;
    }
    stopped = stopped || (!std::exchange(first, false) && !during.go_on());
    if (stopped) {
      leave(read, BusFault::timed_out);
      continue;
    }
    const bool due =
        devices_.is_failing(unit) && devices_.next_try(unit) <= std::chrono::steady_clock::now();
    during.answered(perform(read));
    if (due && devices_.is_failing(unit)) {
      in_vain = unit;
    }
  }
  return rest;
}

ProbeReader::Samples ProbeReader::perform(const PlannedRead& read) {
  const auto answer = devices_.ask(read.request, {});
  const Instant at = clock_.now().mono;
  Samples samples;
  for (const std::size_t probe : read.probes) {
    samples.push_back({probe, 0.0, at});
    Sample& sample = samples.back();
    if (!answer) {
      sample.value = tl::unexpected{answer.error().cause};
      continue;
    }
    const std::size_t first = probes_[probe].address - read.request.address;
    const std::span<const std::uint16_t> words{*answer};
    sample.value = decode(probes_[probe], words.subspan(first, width_of(probes_[probe])));
  }
  const bool refused = !answer && answer.error().cause == BusFault::refused_by_device;
  if (refused && read.probes.size() > 1) {
    // One wrong address must not take its neighbours with it: from now on each is asked alone.
    for (const std::size_t probe : read.probes) {
      alone_[probe] = true;
    }
  }
  return samples;
}

}  // namespace limegate::modbus
