#pragma once

#include <functional>
#include <utility>
#include <vector>

#include "ports/bus.h"
#include "ports/clock.h"

namespace limegate::simulator {

/// Probes that always show the same: what surrounds a simulated tank while all is well.
/// Threads: the loop thread; replies go through `post`, as those of a real bus do.
class ConstantBus : public ports::Bus {
 public:
  using Post = std::function<void(std::function<void()>)>;

  ConstantBus(std::vector<double> values, const ports::Clock& clock, Post post)
      : values_(std::move(values)), clock_(clock), post_(std::move(post)) {}

  void poll(std::vector<std::size_t> probes, PollReply reply) override {
    std::vector<ports::Sample> samples;
    samples.reserve(probes.size());
    for (const std::size_t probe : probes) {
      samples.push_back({probe, values_.at(probe), clock_.now().mono});
    }
    post_([samples = std::move(samples), reply = std::move(reply)] { reply({samples}); });
  }

 private:
  std::vector<double> values_;
  const ports::Clock& clock_;
  Post post_;
};

}  // namespace limegate::simulator
