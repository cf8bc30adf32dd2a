#include "care/mixture.h"

#include <algorithm>
#include <cmath>

namespace limegate::care {
namespace {

/// Of a standard normal number: how likely it is below `x`.
double below(double x) { return 0.5 * std::erfc(-x / std::sqrt(2.0)); }

/// How likely a normal number is below `x`; a step where it has no spread.
double below(double x, double mean, double sd) {
  return sd > 0.0 ? below((x - mean) / sd) : (x < mean ? 0.0 : 1.0);
}

double sd_of(double variance) { return std::sqrt(std::max(0.0, variance)); }

/// Where `cdf`, which rises, reaches `share`: by halving [low, high], which holds it.
template <class Cdf>
double quantile(const Cdf& cdf, double share, Interval within) {
  for (int halving = 0; halving < 40; ++halving) {
    const double middle = 0.5 * (within.low + within.high);
    (cdf(middle) < share ? within.low : within.high) = middle;
  }
  return 0.5 * (within.low + within.high);
}

template <class Cdf>
Estimate estimate(const Cdf& cdf, Interval within) {
  return {quantile(cdf, 0.5, within), {quantile(cdf, 0.05, within), quantile(cdf, 0.95, within)}};
}

using Parts = std::vector<Mixture::Part>;

/// Wide enough to hold every quantile that is asked for. `noise` counts the kit's variance so
/// often.
Interval reach_of(const Parts& parts, Belief::State state, double noise) {
  Interval reach{parts.front().belief.mean(state), parts.front().belief.mean(state)};
  for (const Mixture::Part& part : parts) {
    const double sd = sd_of(part.belief.variance(state) + noise * part.kit_sd * part.kit_sd);
    reach.low = std::min(reach.low, part.belief.mean(state) - 5.0 * sd);
    reach.high = std::max(reach.high, part.belief.mean(state) + 5.0 * sd);
  }
  return reach;
}

Estimate level_of(const Parts& parts, double noise) {
  const auto cdf = [&](double x) {
    double sum = 0.0;
    for (const Mixture::Part& part : parts) {
      const double variance =
          part.belief.variance(Belief::kLevel) + noise * part.kit_sd * part.kit_sd;
      sum += part.weight * below(x, part.belief.mean(Belief::kLevel), sd_of(variance));
    }
    return sum;
  };
  return estimate(cdf, reach_of(parts, Belief::kLevel, noise));
}

/// How likely demand is below `supply` times what limewater truly gives of it; `error` 0 leaves
/// out that it is not its nominal. Exact: both are normal together.
double below_supply(const Parts& parts, double supply, double error) {
  double sum = 0.0;
  for (const Mixture::Part& part : parts) {
    const Belief& b = part.belief;
    const double given = supply * error;
    const double mean = b.mean(Belief::kDemand) - given * b.mean(Belief::kSupplyError);
    const double variance = b.variance(Belief::kDemand) -
                            2.0 * given * b.covariance(Belief::kDemand, Belief::kSupplyError) +
                            given * given * b.variance(Belief::kSupplyError);
    sum += part.weight * below(supply, mean, sd_of(variance));
  }
  return sum;
}

Estimate demand_of(const Parts& parts, double error) {
  const double never = below_supply(parts, 0.0, 0.0);
  if (!(never < 1.0)) {
    return {};
  }
  const auto cdf = [&](double supply) {
    return (below_supply(parts, supply, error) - never) / (1.0 - never);
  };
  // The supply error's spread is a few percent, so twice the demand's reach holds the quotient's.
  return estimate(cdf, {0.0, std::max(0.0, 2.0 * reach_of(parts, Belief::kDemand, 0.0).high)});
}

}  // namespace

Mixture::Mixture(std::vector<Part> parts) : parts_(std::move(parts)) {
  std::sort(parts_.begin(), parts_.end(),
            [](const Part& a, const Part& b) { return a.weight > b.weight; });
  double sum = 0.0;
  std::size_t kept = 0;
  while (kept < parts_.size() && sum < 0.9995) {
    sum += parts_[kept++].weight;
  }
  parts_.erase(parts_.begin() + static_cast<std::ptrdiff_t>(kept), parts_.end());
  for (Part& part : parts_) {
    part.weight /= sum;
  }
}

Estimate Mixture::level() const { return level_of(parts_, 0.0); }
Estimate Mixture::reading() const { return level_of(parts_, 1.0); }
Estimate Mixture::demand() const { return demand_of(parts_, 0.0); }
Estimate Mixture::hold() const { return demand_of(parts_, 1.0); }

double Mixture::level_sd() const {
  double mean = 0.0;
  double square = 0.0;
  for (const Part& part : parts_) {
    const double level = part.belief.mean(Belief::kLevel);
    mean += part.weight * level;
    square += part.weight * (level * level + part.belief.variance(Belief::kLevel));
  }
  return sd_of(square - mean * mean);
}

double Mixture::kit_sd() const {
  double sum = 0.0;
  for (const Part& part : parts_) {
    sum += part.weight * part.kit_sd;
  }
  return sum;
}

}  // namespace limegate::care
