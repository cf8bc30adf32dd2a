#include "modbus/probe_reader.h"

#include <algorithm>
#include <iterator>
#include <span>
#include <utility>

#include "modbus/decode.h"

namespace limegate::modbus {

using ports::BusFault;
using ports::Sample;

ProbeReader::ProbeReader(std::vector<ProbeSettings> probes, Devices& devices,
                         const ports::Clock& clock)
    : probes_(std::move(probes)), alone_(probes_.size(), false), devices_(devices), clock_(clock) {}

std::vector<Sample> ProbeReader::read(const std::vector<std::size_t>& wanted,
                                      const std::function<bool()>& go_on) {
  std::vector<std::size_t> known;
  std::copy_if(wanted.begin(), wanted.end(), std::back_inserter(known),
               [this](std::size_t probe) { return probe < probes_.size(); });
  auto plan = plan_reads(probes_, known, alone_);
  // A unit that was silent lately goes last, so that only others like it wait for its timeout.
  std::stable_partition(plan.begin(), plan.end(), [this](const PlannedRead& read) {
    return !devices_.is_failing(read.request.unit);
  });
  const Sample unread{0, tl::unexpected{BusFault::timed_out}, clock_.now().mono};
  Samples by_probe(probes_.size(), unread);
  for (std::size_t i = 0; i < plan.size(); ++i) {
    if (i > 0 && !go_on()) {
      break;
    }
    perform(plan[i], by_probe);
  }
  const Sample unknown{0, tl::unexpected{BusFault::refused_by_device}, clock_.now().mono};
  std::vector<Sample> samples;
  samples.reserve(wanted.size());
  for (const std::size_t probe : wanted) {
    samples.push_back(probe < probes_.size() ? by_probe[probe] : unknown);
    samples.back().probe = probe;
  }
  return samples;
}

void ProbeReader::perform(const PlannedRead& read, Samples& samples) {
  const auto answer = devices_.ask(read.request, {});
  const Instant at = clock_.now().mono;
  for (const std::size_t probe : read.probes) {
    Sample& sample = samples[probe];
    sample.at = at;
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
}

}  // namespace limegate::modbus
