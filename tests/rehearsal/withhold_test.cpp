// Rules only withhold, on recorded inputs: whatever a random station in a random world with random
// faults saw, second by second, is judged by its own limits and by tighter ones, each with the
// memory of its own judgements. What the tighter ones permit is a subset.

#include <random>
#include <string>
#include <vector>

#include <gtest/gtest.h>

#include "rehearsal/campaign.h"
#include "rehearsal/scene.h"
#include "rules/tightenings.h"

namespace limegate::rehearsal {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

/// A judge that remembers.
struct Judge {
  std::string name;
  rules::Limits limits;
  rules::Memory memory = {};
  std::size_t opens = 0;

  rules::Judgement judge(Instant now, const rules::Snapshot& known) {
    rules::Judgement judgement = rules::judge(now, known, limits, memory);
    memory = judgement.memory;
    opens += judgement.open() ? 1U : 0U;
    return judgement;
  }
};

class RandomWorld {
 public:
  explicit RandomWorld(std::uint64_t seed) : random_(seed) {}

  std::size_t below(std::size_t count) { return random_() % count; }
  double between(double low, double high) {
    return low + (high - low) * static_cast<double>(below(10001)) / 10000.0;
  }

  Rehearsal::Plan world(std::uint64_t seed, Duration lasting) {
    Rehearsal::Plan world = plan(lasting);
    station::Settings& settings = world.settings;
    settings.plan.day_volume = Millilitres{between(300.0, 2000.0)};
    settings.plan.stir =
        below(2) == 0 ? dosing::StirCycle{15min, 120min} : dosing::StirCycle{20min, 180min};
    settings.plan.spread = static_cast<dosing::Spread>(below(3));
    settings.limits.ceiling = Ph{between(8.2, 8.45)};
    settings.limits.ceiling_resume = settings.limits.ceiling - PhChange{between(0.01, 0.1)};
    settings.water.alkalinity =
        below(2) == 0 ? std::nullopt : std::optional{Dkh{between(6.0, 11.0)}};
    settings.reference = Ph{between(8.0, 8.25)};
    if (below(2) == 0) {
      settings.second_ph = settings.ph;
    }
    world.tank.seed = seed;
    world.tank.aquarium.gas_exchange_per_h = between(1.0, 6.0);
    world.faults = random_faults(seed, lasting, world.settings);
    world.keeper = Rehearsal::Plan::Keeper::comes_twice_a_day;
    return world;
  }

  std::vector<Judge> tighter(const rules::Limits& limits, std::size_t count) {
    std::vector<Judge> judges;
    for (std::size_t n = 0; n < count; ++n) {
      const auto& tightening = rules::kTightenings[below(std::size(rules::kTightenings))];
      const double share = std::vector<double>{0.02, 0.1, 0.3, 0.6}[below(4)];
      judges.push_back({tightening.name + (" by " + std::to_string(share)), limits});
      tightening.apply(judges.back().limits, share);
    }
    return judges;
  }

 private:
  std::mt19937_64 random_;
};

struct World {
  std::uint64_t seed;
  Duration lasting;
};

void check(const World& given) {
  SCOPED_TRACE("seed " + std::to_string(given.seed));
  RandomWorld random{given.seed};
  Rehearsal::Plan world = random.world(given.seed, given.lasting);
  Judge own{"its own", world.settings.limits};
  std::vector<Judge> tighter = random.tighter(own.limits, 6);
  Instant before{};
  std::string broken;
  world.each_second = [&](const station::Station& core, Moment now) {
    if (now.mono < before) {  // another boot: nothing is remembered
      own.memory = {};
      for (Judge& judge : tighter) {
        judge.memory = {};
      }
    }
    before = now.mono;
    const rules::Snapshot known = core.snapshot(now, Millilitres{28.0});
    const bool open = own.judge(now.mono, known).open();
    for (Judge& judge : tighter) {
      if (judge.judge(now.mono, known).open() && !open && broken.empty()) {
        broken = judge.name + " opens where its own limits hold";
      }
    }
  };
  ASSERT_TRUE(Rehearsal{std::move(world)}.run());
  EXPECT_EQ(broken, "");
  EXPECT_GT(own.opens, 0U) << "a world in which nothing ever opens tells nothing";
}

TEST(WithholdOnRecordedInputs, a_tighter_limit_permits_a_subset_in_the_first_days) {
  for (std::uint64_t seed = 1; seed <= 8; ++seed) {
    check({seed, 48h});
  }
}

TEST(WithholdOnRecordedInputs, a_tighter_limit_permits_a_subset_once_the_course_is_learned) {
  for (std::uint64_t seed = 101; seed <= 102; ++seed) {
    check({seed, 10 * 24h});
  }
}

}  // namespace
}  // namespace limegate::rehearsal
