// A station that watches what its doses do: without effect, as usual, far too much.

#include "station/effect_check.h"

#include <cmath>
#include <numbers>
#include <random>
#include <string>

#include <gtest/gtest.h>

#include "rules/judge.h"
#include "rules/limits.h"
#include "station/anchor.h"
#include "station/bench.h"

namespace limegate::station {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

/// Limewater that should raise the pH by 0.03 in each clear window, and does `share` of it: stirred
/// for 15 min of every two hours, then 60 min of settling; a day's swing and noise. A scenario of
/// our own.
class Answering {
 public:
  explicit Answering(const LearnedEffect& stored = {})
      : check(EffectCheck::Stored{stored}, {}, 60min) {}

  void run(Duration lasting, double share) {
    for (const Instant end = now.mono + lasting; now.mono < end;) {
      now.mono += 10s;
      now.wall += 10s;
      const Duration passed = now.mono.time_since_epoch() % 2h;
      expected *= std::exp(-10.0 / 21600.0);
      raised *= std::exp(-10.0 / 21600.0);
      if (passed >= 75min) {
        expected += 0.03 / 270.0;
        raised += 0.03 / 270.0 * share;
      }
      if (passed >= 15min) {
        const double hours =
            std::chrono::duration<double, std::ratio<3600>>(now.mono.time_since_epoch()).count();
        const double ph = 8.2 + 0.1 * std::sin(2.0 * std::numbers::pi * hours / 24.0) + raised +
                          0.01 * normal(random);
        const auto today =
            check.take(now, Ph{ph}, PhChange{expected},
                       {rules::StirrerKnown::State::resting, now.mono - passed + 15min}, effects);
        if (today) {
          anchor.take(now, *today, check.if_learned(), effects);
        }
      }
    }
  }
  /// Another run begins with what was stored of this one.
  void restart() {
    EffectCheck::Stored stored;
    for (const Effect& effect : effects) {
      if (const auto* learned = std::get_if<StoreEffect>(&effect)) {
        stored.effect = learned->learned;
      } else if (const auto* cycle = std::get_if<StoreCycle>(&effect)) {
        stored.cycles.push_back(cycle->cycle);
      } else if (std::holds_alternative<ForgetCycles>(effect)) {
        stored.cycles.clear();
      }
    }
    std::erase_if(stored.cycles, [&](const DoseCycle& cycle) {
      return cycle.at < now.mono.time_since_epoch() - 24h;
    });
    check = EffectCheck{stored, {}, 60min};
  }
  [[nodiscard]] int told(const std::string& code) const {
    int times = 0;
    for (const Effect& effect : effects) {
      const auto* raise = std::get_if<Raise>(&effect);
      times += raise != nullptr && raise->event.code == code ? 1 : 0;
    }
    return times;
  }

  EffectCheck check;
  Anchor anchor{{}, {MillilitresPerMinute{50.0}, true}};
  Moment now{Instant{100h}, WallTime{}};
  Effects effects;
  double expected = 0.0, raised = 0.0;
  // NOLINTNEXTLINE(cert-msc32-c,cert-msc51-cpp): the same course each time
  std::mt19937_64 random{7};
  std::normal_distribution<double> normal;
};

const LearnedEffect kUsual{1.0, EffectCheck::kLearnedDays};

TEST(EffectCheck, learns_in_a_week_what_doses_usually_do_and_stores_it) {
  Answering tank;
  EXPECT_EQ(tank.check.days_to_go(), 7);
  EXPECT_FALSE(tank.check.learned());
  tank.run(24h * 9, 0.8);
  EXPECT_TRUE(tank.check.learned());
  EXPECT_NEAR(tank.check.usual(), 0.8, 0.08);
  double stored = 0.0;
  for (const Effect& effect : tank.effects) {
    if (const auto* learned = std::get_if<StoreEffect>(&effect)) {
      stored = learned->learned.share;
    }
  }
  EXPECT_EQ(stored, tank.check.usual());
  EXPECT_EQ(tank.told("dose-without-effect"), 0);
  ASSERT_TRUE(tank.check.against_usual());
  EXPECT_NEAR(tank.check.against_usual()->share, 1.0, 0.15);
}

TEST(EffectCheck, doses_without_effect_are_told_once_within_two_days_and_when_it_is_over) {
  Answering tank{kUsual};
  tank.run(48h, 1.0);
  ASSERT_EQ(tank.told("dose-without-effect"), 0);
  tank.run(48h, 0.0);
  EXPECT_EQ(tank.told("dose-without-effect"), 1);
  EXPECT_NEAR(tank.check.usual(), 1.0, 0.1) << "a spent charge is no teacher";
  tank.run(36h, 1.0);
  EXPECT_EQ(tank.told("dose-without-effect"), 1);
  EXPECT_EQ(tank.told("dose-has-effect"), 1);
}

TEST(EffectCheck, doses_without_effect_are_told_although_each_half_day_brings_a_restart) {
  Answering tank;
  for (int half_day = 0; half_day < 24; ++half_day) {
    tank.run(12h, 1.0);
    tank.restart();
  }
  EXPECT_TRUE(tank.check.learned()) << "a restart is no reason to learn nothing";
  ASSERT_EQ(tank.told("dose-without-effect"), 0);
  for (int half_day = 0; half_day < 4; ++half_day) {
    tank.run(12h, 0.0);
    tank.restart();
  }
  EXPECT_GE(tank.told("dose-without-effect"), 1);
}

TEST(EffectCheck, a_restart_does_not_learn_the_same_day_twice) {
  Answering tank;
  tank.run(30h, 0.8);
  const int to_go = tank.check.days_to_go();
  for (int part = 0; part < 3; ++part) {
    tank.restart();
    tank.run(4h, 0.8);
  }
  EXPECT_GE(tank.check.days_to_go(), to_go - 1);
}

TEST(EffectCheck, without_effect_from_the_first_day_is_told_too) {
  Answering tank;
  tank.run(48h, 0.0);
  EXPECT_EQ(tank.told("dose-without-effect"), 1);
  EXPECT_EQ(tank.check.days_to_go(), 7) << "nothing was learned from it";
}

TEST(EffectCheck, far_too_much_is_surely_seen_against_what_is_usual) {
  Answering tank{kUsual};
  tank.run(48h, 1.0);
  EXPECT_LT(tank.check.against_usual()->share, 1.3);
  tank.run(30h, 2.5);
  const auto seen = tank.check.against_usual();
  ASSERT_TRUE(seen);
  EXPECT_GT(seen->share, 2.0);
  EXPECT_GT(seen->at_least, 1.3);
  EXPECT_NEAR(tank.check.usual(), 1.0, 0.15);
  tank.check.begin_anew(tank.effects);
  EXPECT_FALSE(tank.check.against_usual());
  tank.restart();
  tank.run(4h, 2.5);
  EXPECT_FALSE(tank.check.against_usual()) << "what a person has looked after is over for good";
}

TEST(EffectCheck, what_no_sound_station_does_is_never_learned) {
  Answering tenfold;
  tenfold.run(24h * 10, 9.5);
  EXPECT_EQ(tenfold.check.days_to_go(), 7) << "a pump rate that is wrong by ten";
  Answering learned{kUsual};
  learned.run(24h * 4, 2.8);
  EXPECT_EQ(learned.check.usual(), 1.0);
}

TEST(EffectCheck, a_pump_that_is_mended_after_it_had_worn_out_is_usual_again) {
  Answering tank{{0.5, EffectCheck::kMemoryDays}};
  tank.run(24h * 14, 1.1);
  EXPECT_GT(tank.check.usual(), 0.8) << "twice the usual, and what chemistry expects";
  const auto seen = tank.check.against_usual();
  ASSERT_TRUE(seen);
  EXPECT_LT(seen->of_chemistry, rules::SoundEffect::kMost);
}

TEST(EffectCheck, a_pump_that_wears_to_half_over_weeks_is_told_and_its_repair_latches_nothing) {
  Answering tank;
  tank.run(24h * 10, 1.0);
  ASSERT_EQ(tank.told("dose-effect-declined"), 0);
  for (int day = 1; day <= 42; ++day) {
    tank.run(24h, 1.0 - 0.5 * day / 42.0);
  }
  tank.run(24h * 14, 0.5);
  EXPECT_EQ(tank.told("dose-effect-declined"), 1);
  EXPECT_EQ(tank.told("dose-without-effect"), 0);
  rules::Snapshot known;
  rules::Memory memory;
  for (int day = 0; day < 28; ++day) {
    tank.run(24h, 1.0);
    known.dose_effect = tank.check.against_usual();
    memory = rules::judge(tank.now.mono, known, rules::Limits{}, memory).memory;
  }
  EXPECT_FALSE(memory.effect_too_large_latched);
  EXPECT_EQ(tank.told("dose-effect-recovered"), 1);
  EXPECT_EQ(tank.told("dose-beyond-chemistry"), 0);
}

TEST(EffectCheck, far_less_than_a_sound_stations_is_told_whatever_is_usual) {
  Answering tank{{0.6, EffectCheck::kMemoryDays}};
  tank.run(48h, 0.6);
  EXPECT_EQ(tank.told("dose-without-effect"), 0);
  tank.run(48h, 0.2);
  EXPECT_EQ(tank.told("dose-without-effect"), 1);
}

TEST(EffectCheck, some_more_or_less_is_no_news) {
  Answering tank{kUsual};
  tank.run(48h, 1.0);
  tank.run(48h, 0.6);
  tank.run(48h, 1.4);
  EXPECT_EQ(tank.told("dose-without-effect"), 0);
  EXPECT_FALSE(tank.check.against_usual()->at_least > 1.3);
}

TEST(EffectTooLarge, waits_for_a_person_over_a_restart) {
  History history;
  history.latches = {"effect-too-large"};
  Bench bench{Bench::usual(), history};
  bench.run(10min);
  EXPECT_TRUE(bench.held_for("effect-too-large"));
  EXPECT_EQ(bench.command(Release{"effect-too-large"}, Origin::afar).verdict,
            Answer::Verdict::refused);
  EXPECT_EQ(bench.command(Release{"effect-too-large"}).verdict, Answer::Verdict::accepted);
  bench.run(1s);
  EXPECT_FALSE(bench.held_for("effect-too-large"));
}

TEST(EffectCheck, what_was_stored_and_makes_no_sense_is_learned_anew) {
  for (const LearnedEffect& stored : {LearnedEffect{-1.0, 14}, LearnedEffect{std::nan(""), 14},
                                      LearnedEffect{1e9, 14}, LearnedEffect{1.0, -1}}) {
    History history;
    history.effect = stored;
    Bench bench{Bench::usual(), history};
    EXPECT_FALSE(bench.core.status(bench.now).usual_effect);
    EXPECT_EQ(bench.core.status(bench.now).usual_effect_days_to_go, 7);
  }
}

Settings small_tank() {
  Settings settings = Bench::usual();
  settings.water = {Litres{120.0}, Dkh{8.0}, Salinity{35.0}};
  return settings;
}

TEST(PulsesByChemistry, are_smaller_the_lower_the_ph_and_never_above_the_configured) {
  Settings settings = small_tank();
  settings.plan.pulse_max = Millilitres{60.0};
  const auto pulse_at = [&](double ph) {
    Bench bench{settings};
    bench.ph = ph;
    bench.run(4h);
    return bench.newest<AppendPulse>()->pulse;
  };
  const PulseRecord high = pulse_at(8.35);
  const PulseRecord low = pulse_at(7.8);
  const auto rise = [](double ph) {
    return rise_per_millilitre(Litres{120.0}, Dkh{8.0}, Salinity{35.0}, Ph{ph}, Celsius{25.0})
        ->count();
  };
  EXPECT_LT(low.volume, high.volume);
  EXPECT_LE(low.volume.count() * rise(7.8), 0.0205);
  EXPECT_LE(high.volume.count() * rise(8.36), 0.0205);
  EXPECT_LE(high.volume, Millilitres{60.0});
  EXPECT_NEAR(std::chrono::duration<double>(low.duration).count(), low.volume.count() / 40.0 * 60.0,
              0.01);
  settings.plan.pulse_max = Millilitres{10.0};
  EXPECT_LE(pulse_at(8.35).volume, Millilitres{10.0});
  settings.water.alkalinity.reset();
  settings.plan.pulse_max = Millilitres{60.0};
  EXPECT_EQ(pulse_at(7.8).volume, Millilitres{60.0}) << "nothing is sized by an untested water";
}

TEST(PulsesByChemistry, the_same_volume_comes_in_more_pulses) {
  Settings settings = small_tank();
  settings.plan.pulse_max = Millilitres{60.0};
  Bench bench{settings};
  bench.ph = 7.8;
  bench.run(26h);
  Millilitres given;
  for (const Effect& effect : bench.log) {
    if (const auto* append = std::get_if<AppendPulse>(&effect)) {
      given += append->pulse.volume;
    }
  }
  EXPECT_NEAR(given.count(), 720.0, 61.0);
}

TEST(Relearn, forgets_the_usual_course_but_not_under_its_hold) {
  History history;
  history.usual_course.fill({8.205, 14});
  Bench bench{Bench::usual(), history};
  bench.run(4h);
  EXPECT_EQ(bench.command(Relearn{}, Origin::afar).verdict, Answer::Verdict::refused);
  for (int minute = 0; minute < 12; ++minute) {
    bench.ph += 0.0075;
    bench.run(1min);
  }
  ASSERT_TRUE(bench.held_for("ph-unusual-climb"));
  EXPECT_EQ(bench.command(Relearn{}).verdict, Answer::Verdict::refused);
  EXPECT_EQ(bench.count<ForgetCourse>(), 0U);
  for (int minute = 0; minute < 180; ++minute) {
    bench.ph -= 0.0004;  // the air takes it back
    bench.run(1min);
  }
  EXPECT_EQ(bench.command(Relearn{}).verdict, Answer::Verdict::accepted);
  EXPECT_EQ(bench.count<ForgetCourse>(), 1U);
  EXPECT_FALSE(bench.core.status(bench.now).usual_ph);
  EXPECT_EQ(bench.core.status(bench.now).usual_course_days_to_go, 7);
}

}  // namespace
}  // namespace limegate::station
