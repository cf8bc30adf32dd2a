#include "gpio/bus.h"

#include <utility>

#include <gpiod.h>

namespace limegate::gpio {
namespace {

/// Shown to whoever asks the kernel who uses a line.
constexpr const char* kConsumer = "limegate";

}  // namespace

/// libgpiod's chip; closing it gives its lines back.
class Bus::Chip {
 public:
  explicit Chip(gpiod_chip* chip) : chip_(chip) {}
  ~Chip() { gpiod_chip_close(chip_); }
  Chip(const Chip&) = delete;
  Chip(Chip&&) = delete;
  Chip& operator=(const Chip&) = delete;
  Chip& operator=(Chip&&) = delete;

  /// As an input, asked for once; null if there is none such, or somebody else uses it.
  [[nodiscard]] gpiod_line* line(unsigned offset) {
    gpiod_line* const line = gpiod_chip_get_line(chip_, offset);
    if (line == nullptr || gpiod_line_is_requested(line)) {
      return line;
    }
    return gpiod_line_request_input(line, kConsumer) == 0 ? line : nullptr;
  }

 private:
  gpiod_chip* chip_;
};

Bus::Bus(std::string chip, std::vector<LineSettings> lines, const ports::Clock& clock, Post post)
    : path_(std::move(chip)), lines_(std::move(lines)), clock_(clock), post_(std::move(post)) {}

Bus::~Bus() = default;

tl::expected<double, ports::BusFault> Bus::read(const LineSettings& settings) {
  if (!chip_) {
    gpiod_chip* const opened = gpiod_chip_open(path_.c_str());
    if (opened == nullptr) {
      return tl::unexpected(ports::BusFault::port_gone);
    }
    chip_ = std::make_unique<Chip>(opened);
  }
  gpiod_line* const line = chip_->line(settings.line);
  if (line == nullptr) {
    return tl::unexpected(ports::BusFault::refused_by_device);
  }
  const int value = gpiod_line_get_value(line);
  if (value < 0) {
    chip_.reset();  // it was pulled out: the next poll opens it anew
    return tl::unexpected(ports::BusFault::port_gone);
  }
  // Not the kernel's own flag for it: two stations may look at one line in two ways.
  const bool high = value != 0;
  return high == (settings.polarity == LineSettings::Polarity::active_high) ? 1.0 : 0.0;
}

void Bus::poll(std::vector<std::size_t> probes, PollReply reply) {
  std::vector<ports::Sample> samples;
  samples.reserve(probes.size());
  for (const std::size_t probe : probes) {
    samples.push_back({probe, read(lines_.at(probe)), clock_.now().mono});
  }
  post_([samples = std::move(samples), reply = std::move(reply)] { reply(samples); });
}

}  // namespace limegate::gpio
