// An answer is as old as it is, however late it is handed to the core.

#include <gtest/gtest.h>

#include "rules/owner_rule.h"
#include "station/bench.h"

namespace limegate::station {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using rules::OwnerRulebook;
using rules::Role;

/// How long after its answer a sample is handed over; a negative one is from the future.
struct Late {
  Duration by;
  bool held;
};

class LateSample : public testing::TestWithParam<Late> {
 protected:
  static void settle(Bench& bench) {
    bench.until<RunEffect>();
    bench.run(5min);
    bench.samples = false;
  }
};
INSTANTIATE_TEST_SUITE_P(Ages, LateSample,
                         testing::Values(Late{0s, false}, Late{9s, false}, Late{10s, false},
                                         Late{11s, true}, Late{16s, true}, Late{-2s, true}));

TEST_P(LateSample, of_the_ph_is_as_old_as_its_answer) {
  Bench bench;
  settle(bench);
  bench.run(20s);  // nothing is heard any more
  ASSERT_FALSE(bench.core.reading(Role::ph, bench.now.mono).quality == signal::Quality::good);
  const Instant at = bench.now.mono + 1s - GetParam().by;
  bench.now.mono += 1s;
  bench.now.wall += 1s;
  bench.see(ProbeSample{Role::ph, 8.2, at});
  bench.see(ProbeSample{Role::temperature, 25.0});
  (void)bench.core.step(bench.now);
  const signal::Reading reading = bench.core.reading(Role::ph, bench.now.mono);
  EXPECT_EQ(reading.age, GetParam().by);
  EXPECT_EQ(reading.at.mono, at);
  EXPECT_EQ(reading.at.wall,
            bench.now.wall - std::chrono::duration_cast<WallTime::duration>(GetParam().by));
  EXPECT_EQ(reading.quality == signal::Quality::bad, GetParam().held);
}

TEST_P(LateSample, of_a_stirrer_is_as_old_as_its_answer) {
  Bench bench{Bench::observed()};
  for (int i = 0; i < 3700; ++i) {
    bench.see(StirrerSample{false});
    bench.second();
  }
  ASSERT_FALSE(bench.held_for("stirrer-unknown"));
  bench.run(20s);
  ASSERT_TRUE(bench.held_for("stirrer-unknown"));
  bench.see(StirrerSample{false, bench.now.mono - GetParam().by});
  bench.samples = false;
  (void)bench.core.step(bench.now);
  EXPECT_EQ(bench.held_for("stirrer-unknown"), GetParam().held);
}

TEST_P(LateSample, of_an_owners_input_is_as_old_as_its_answer) {
  Settings settings = Bench::usual();
  settings.owner.inputs[OwnerRulebook::kPh].age_max = 10s;
  settings.owner.inputs[OwnerRulebook::kTemperature].age_max = 10s;
  settings.owner.inputs.push_back({"return-pump", rules::Input::Kind::digital, "", 10s, 1});
  rules::OwnerRule rule;
  rule.name = "return-pump-off";
  rule.comparisons = {{OwnerRulebook::kFirstOwn, rules::Is{rules::Is::State::off}}};
  settings.owner.rules = {rule};
  Bench bench{settings};
  bench.inputs = {1.0};
  bench.run(2min);
  bench.inputs.clear();
  bench.run(20s);
  ASSERT_TRUE(bench.held_for("rule-return-pump-off-unknown"));
  bench.see(InputSample{OwnerRulebook::kFirstOwn, 1.0, bench.now.mono - GetParam().by});
  (void)bench.core.step(bench.now);
  EXPECT_EQ(bench.held_for("rule-return-pump-off-unknown"), GetParam().held);
}

}  // namespace
}  // namespace limegate::station
