#include "care/belief.h"

#include <cmath>
#include <numbers>

namespace limegate::care {

Belief::Belief(const Row& mean, const Row& deviation) : mean_(mean) {
  for (std::size_t i = 0; i < 3; ++i) {
    variance_[i][i] = deviation[i] * deviation[i];
  }
}

void Belief::pass(double days, double supply, double supply_variance, double drift_variance) {
  mean_[kLevel] += supply * (1.0 + mean_[kSupplyError]) - days * mean_[kDemand];
  // F P F' with F = [1, -days, supply; 0, 1, 0; 0, 0, 1].
  auto& p = variance_;
  const Row moved{p[0][0] - days * p[1][0] + supply * p[2][0],
                  p[0][1] - days * p[1][1] + supply * p[2][1],
                  p[0][2] - days * p[1][2] + supply * p[2][2]};
  p[0][0] = moved[0] - days * moved[1] + supply * moved[2] + supply_variance +
            drift_variance * days * days * days / 3.0;
  p[0][1] = p[1][0] = moved[1] - drift_variance * days * days / 2.0;
  p[0][2] = p[2][0] = moved[2];
  p[1][1] += drift_variance * days;
}

void Belief::mix(double kept, double added, double added_variance) {
  mean_[kLevel] = kept * mean_[kLevel] + added;
  for (std::size_t i = 1; i < 3; ++i) {
    variance_[kLevel][i] = variance_[i][kLevel] = kept * variance_[kLevel][i];
  }
  variance_[kLevel][kLevel] = kept * kept * variance_[kLevel][kLevel] + added_variance;
}

void Belief::step_demand(double kept, double added_variance) {
  mean_[kDemand] *= kept;
  for (const std::size_t i : {std::size_t{kLevel}, std::size_t{kSupplyError}}) {
    variance_[kDemand][i] = variance_[i][kDemand] = kept * variance_[kDemand][i];
  }
  variance_[kDemand][kDemand] = kept * kept * variance_[kDemand][kDemand] + added_variance;
}

double Belief::log_likelihood(double level, double noise) const {
  const double expected = variance_[kLevel][kLevel] + noise;
  const double surprise = level - mean_[kLevel];
  return -0.5 * (std::log(2.0 * std::numbers::pi * expected) + surprise * surprise / expected);
}

void Belief::learn(double level, double noise) {
  const double expected = variance_[kLevel][kLevel] + noise;
  const double surprise = level - mean_[kLevel];
  const Row gain{variance_[0][0] / expected, variance_[1][0] / expected,
                 variance_[2][0] / expected};
  // (I - K H) P, then times (I - K H)' and plus K R K': stays positive whatever is rounded.
  std::array<Row, 3> left{};
  for (std::size_t i = 0; i < 3; ++i) {
    for (std::size_t j = 0; j < 3; ++j) {
      left[i][j] = variance_[i][j] - gain[i] * variance_[0][j];
    }
  }
  for (std::size_t i = 0; i < 3; ++i) {
    mean_[i] += gain[i] * surprise;
    for (std::size_t j = 0; j <= i; ++j) {
      variance_[i][j] = variance_[j][i] =
          left[i][j] - left[i][0] * gain[j] + gain[i] * noise * gain[j];
    }
  }
}

}  // namespace limegate::care
