#include "care/bank.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace limegate::care {
namespace {

/// A drift and a step are shares of demand; of next to nothing they would be nothing for ever.
constexpr double kDemandLeast = 0.05;

/// Logarithm of how likely an explanation must be beside the likeliest to be carried on: a step, a
/// slip and a test that neither explains well may all come together.
constexpr double kForgotten = -16.0;

double scale_of(const Belief& belief) {
  return std::max(kDemandLeast, belief.mean(Belief::kDemand));
}

void follow(Belief& belief, const std::vector<Move>& moves, double drift) {
  const double a_day = drift * scale_of(belief);
  for (const Move& move : moves) {
    belief.pass(move.days, move.supply, move.supply_variance, a_day * a_day);
    belief.mix(move.kept, move.added, move.added_variance);
  }
}

}  // namespace

// Weights are ours: those of a keeper who knows that most weeks are like the one before, that one
// test in 25 is a slip, and that demand changes at once three or four times a year, by about half
// of it up or down. tests/benchmarks/demand_benchmark.cpp measures what comes of them.
Assumptions usual_assumptions() {
  Assumptions a;
  a.kit_sds = {{0.1, 0.15}, {0.14, 0.25}, {0.2, 0.3}, {0.28, 0.2}, {0.4, 0.1}};
  a.drifts = {{0.0, 0.6}, {0.005, 0.13}, {0.01, 0.18}, {0.02, 0.09}};
  a.steps = {{1.5, 0.2, std::log(0.4)}, {0.4, 0.15, std::log(0.4)}, {1.0, 0.5, std::log(0.2)}};
  a.steps_per_day = 0.01;
  a.slips = 0.04;
  a.slip_sd = 2.5;
  a.supply_error_sd = 0.04;
  a.explanations = 40;
  return a;
}

Bank::Bank(const Assumptions& assumptions, double level, double supply)
    : assumptions_(assumptions) {
  const double demand_sd = 1.5 + supply;
  const Explanation start{
      Belief{{level, 0.5 * (0.7 + supply), 0.0}, {10.0, demand_sd, assumptions.supply_error_sd}},
      0.0};
  for (const auto& kit : assumptions.kit_sds) {
    for (const auto& drift : assumptions.drifts) {
      Explanation first = start;
      first.log_weight = std::log(kit.weight * drift.weight);
      groups_.push_back({kit.value, drift.value, {first}});
    }
  }
}

void Bank::pass(const Stretch& stretch) {
  const double quiet = std::exp(-assumptions_.steps_per_day * stretch.days);
  const double log_quiet = stretch.cuts.empty() ? 0.0 : std::log(quiet);
  // Of each cut and step, but for the step's own weight.
  const double log_step =
      std::log((1.0 - quiet) / static_cast<double>(std::max<std::size_t>(1, stretch.cuts.size())));
  for (Group& group : groups_) {
    std::vector<Explanation> all;
    all.reserve(group.explanations.size() * (1 + stretch.cuts.size() * assumptions_.steps.size()));
    for (const Explanation& from : group.explanations) {
      Explanation same = from;
      follow(same.belief, stretch.moves, group.drift);
      same.log_weight += log_quiet;
      all.push_back(same);
      for (const Stretch::Cut& cut : stretch.cuts) {
        Explanation up_to = from;
        follow(up_to.belief, cut.before, group.drift);
        for (const Assumptions::Step& step : assumptions_.steps) {
          Explanation stepped = up_to;
          const double sd = step.sd * scale_of(stepped.belief);
          stepped.belief.step_demand(step.kept, sd * sd);
          follow(stepped.belief, cut.after, group.drift);
          stepped.log_weight += log_step + step.log_weight;
          all.push_back(stepped);
        }
      }
    }
    group.explanations = std::move(all);
  }
}

void Bank::learn(double reading) {
  const double log_sound = std::log(1.0 - assumptions_.slips);
  const double log_slip = std::log(assumptions_.slips);
  for (Group& group : groups_) {
    const double sound = group.kit_sd * group.kit_sd;
    const double slipped = sound + assumptions_.slip_sd * assumptions_.slip_sd;
    // Of many only the likeliest are worth the work of learning.
    std::vector<Taken> taken;
    taken.reserve(2 * group.explanations.size());
    for (const Explanation& from : group.explanations) {
      taken.push_back(
          {&from, false, from.log_weight + log_sound + from.belief.log_likelihood(reading, sound)});
      taken.push_back(
          {&from, true, from.log_weight + log_slip + from.belief.log_likelihood(reading, slipped)});
    }
    const std::size_t kept = std::min(taken.size(), assumptions_.explanations);
    std::nth_element(taken.begin(), taken.begin() + static_cast<std::ptrdiff_t>(kept), taken.end(),
                     [](const Taken& a, const Taken& b) { return a.log_weight > b.log_weight; });
    std::vector<Explanation> learned;
    learned.reserve(kept);
    for (std::size_t i = 0; i < kept; ++i) {
      Explanation& one = learned.emplace_back(*taken[i].from);
      one.belief.learn(reading, taken[i].slip ? slipped : sound);
      one.log_weight = taken[i].log_weight;
      one.slip = taken[i].slip;
    }
    group.explanations = std::move(learned);
  }
  weigh();
}

void Bank::weigh() {
  double most = -std::numeric_limits<double>::infinity();
  for (const Group& group : groups_) {
    for (const Explanation& one : group.explanations) {
      most = std::max(most, one.log_weight);
    }
  }
  for (Group& group : groups_) {
    for (Explanation& one : group.explanations) {
      one.log_weight -= most;
    }
    std::erase_if(group.explanations,
                  [](const Explanation& one) { return one.log_weight < kForgotten; });
  }
}

Mixture Bank::mixture() const {
  std::vector<Mixture::Part> parts;
  std::size_t count = 0;
  for (const Group& group : groups_) {
    count += group.explanations.size();
  }
  parts.reserve(count);
  double sum = 0.0;
  for (const Group& group : groups_) {
    for (const Explanation& one : group.explanations) {
      const double weight = std::exp(one.log_weight);
      parts.push_back({weight, one.belief, group.kit_sd});
      sum += weight;
    }
  }
  for (Mixture::Part& part : parts) {
    part.weight /= sum;
  }
  return Mixture{std::move(parts)};
}

double Bank::slip_chance() const {
  double sum = 0.0;
  double slip = 0.0;
  for (const Group& group : groups_) {
    for (const Explanation& one : group.explanations) {
      const double weight = std::exp(one.log_weight);
      sum += weight;
      slip += one.slip ? weight : 0.0;
    }
  }
  return slip / sum;
}

}  // namespace limegate::care
