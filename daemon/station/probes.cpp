#include "station/probes.h"

#include <chrono>

namespace limegate::station {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

/// Until a pulse has mixed in, the probe may see far more of it than its share, or nothing yet. The
/// plain limit of a climb judges meanwhile. Source: a sump of a fifth of the water that is passed
/// five times an hour mixes with a time constant of three minutes; of 1 to 10 min this gave the
/// fewest false holds in tests/benchmarks/climb_benchmark.cpp.
constexpr Duration kMixesIn = 3min;

/// The same moment on both clocks, as long ago as it is by the one that does not jump.
Moment moment_of(const AnsweredAt& at, Moment now) {
  const Instant then = at.value_or(now.mono);
  return {then, now.wall - (now.mono - then), now.wall_trusted};
}

}  // namespace

Probes::Probes(const Settings& settings)
    : ph_(settings.ph),
      second_ph_(settings.second_ph ? std::optional{signal::Conditioner{*settings.second_ph}}
                                    : std::nullopt),
      temperature_(settings.temperature),
      undisturbed_(settings.limits.undisturbed) {}

Probes::Says Probes::take(Moment now, const ProbeSample& sample) {
  signal::Conditioner* probe = sample.role == rules::Role::ph            ? &ph_
                               : sample.role == rules::Role::temperature ? &temperature_
                               : second_ph_                              ? &*second_ph_
                                                                         : nullptr;
  if (probe == nullptr) {
    return Says::nothing;
  }
  if (!sample.value) {
    probe->accept_fault();
    return Says::nothing;
  }
  probe->accept(*sample.value, moment_of(sample.at, now));
  if (sample.role == rules::Role::temperature) {
    return Says::nothing;
  }
  return probe->plausible(*sample.value) ? Says::plausible_ph : Says::implausible_ph;
}

signal::Reading Probes::reading(rules::Role role, Instant now) const {
  if (role == rules::Role::temperature) {
    return temperature_.reading(now);
  }
  return second_ph_ ? signal::higher_of(ph_.reading(now), second_ph_->reading(now))
                    : ph_.reading(now);
}

void Probes::know(Instant now, rules::Snapshot& known) const {
  known.ph = ph_.reading(now);
  known.temperature = temperature_.reading(now);
  if (second_ph_) {
    known.second_ph = second_ph_->reading(now);
  }
  known.disturbed_until = disturbed_until_;
}

void Probes::disturb(Instant now, By by) {
  if (by == By::pump) {
    mixed_at_ = now + kMixesIn;
  }
  disturbed_until_ = now + undisturbed_;
}

}  // namespace limegate::station
