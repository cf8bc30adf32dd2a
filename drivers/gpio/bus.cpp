#include "gpio/bus.h"

#include <utility>

namespace limegate::gpio {

Bus::Bus(std::string chip, std::vector<LineSettings> lines, const ports::Clock& clock, Post post)
    : path_(std::move(chip)), lines_(std::move(lines)), clock_(clock), post_(std::move(post)) {}

Bus::~Bus() = default;

tl::expected<double, ports::BusFault> Bus::read(const LineSettings& settings) {
  if (!chip_) {
    chip_ = open_chip(path_);
  }
  if (!chip_) {
    return tl::unexpected(ports::BusFault::port_gone);
  }
  const auto high = chip_->high(settings.line);
  if (!high) {
    if (high.error() == ports::BusFault::port_gone) {
      chip_.reset();  // it was pulled out: the next poll opens it anew
    }
    return tl::unexpected(high.error());
  }
  // Not the kernel's own flag for it: two stations may look at one line in two ways.
  return *high == (settings.polarity == LineSettings::Polarity::active_high) ? 1.0 : 0.0;
}

void Bus::poll(std::vector<std::size_t> probes, PollReply reply) {
  std::vector<ports::Sample> samples;
  samples.reserve(probes.size());
  for (const std::size_t probe : probes) {
    samples.push_back({probe, read(lines_.at(probe)), clock_.now().mono});
  }
  post_([samples = std::move(samples), reply = std::move(reply)] { reply({samples}); });
}

}  // namespace limegate::gpio
