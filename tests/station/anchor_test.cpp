// What doses do, held against chemistry: a pump's rate that nobody measured, an effect that was
// wrong from the first day, a slow decline.

#include "station/anchor.h"

#include <cmath>
#include <string>
#include <vector>

#include <gtest/gtest.h>

#include "station/bench.h"

namespace limegate::station {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using Halved = Anchor::Halved;

constexpr MillilitresPerMinute kRate{40.0};
constexpr Moment kNow{Instant{100h}, WallTime{500000h}};

struct Told {
  explicit Told(Anchor& of) : anchor(of) {}
  /// The codes that a day of such an effect raised.
  std::vector<std::string> day(double share, double error = 0.1,
                               std::optional<double> usual = std::nullopt) {
    Effects effects;
    anchor.take(kNow, {share, error}, usual, effects);
    std::vector<std::string> codes;
    for (const Effect& effect : effects) {
      if (const auto* raise = std::get_if<Raise>(&effect)) {
        codes.push_back(raise->event.code);
      } else if (const auto* store = std::get_if<StoreAnchor>(&effect)) {
        stored = store->learned;
      }
    }
    return codes;
  }
  Anchor& anchor;
  LearnedAnchor stored;
};

using Codes = std::vector<std::string>;

TEST(Anchor, a_rate_that_nobody_confirmed_halves) {
  EXPECT_EQ(Anchor({}, {kRate}).halved(std::nullopt), Halved::rate_unconfirmed);
  EXPECT_EQ(Anchor({}, {kRate, true}).halved(std::nullopt), Halved::no) << "dated in the file";
  EXPECT_EQ(Anchor({.confirmed_rate = kRate}, {kRate}).halved(std::nullopt), Halved::no)
      << "timed run";
  EXPECT_EQ(Anchor({.confirmed_rate = MillilitresPerMinute{30.0}}, {kRate}).halved(std::nullopt),
            Halved::rate_unconfirmed)
      << "the file's rate was changed since";
  EXPECT_EQ(
      Anchor({.confirmed_rate = MillilitresPerMinute{std::nan("")}}, {kRate}).halved(std::nullopt),
      Halved::rate_unconfirmed);
}

TEST(Anchor, a_plausible_learned_effect_confirms_the_rate) {
  const Anchor anchor{{}, {kRate}};
  const auto at = [&](double usual) { return anchor.halved(usual); };
  EXPECT_EQ(at(0.39), Halved::rate_unconfirmed);
  EXPECT_EQ(at(0.41), Halved::no);
  EXPECT_EQ(at(1.0), Halved::no);
  EXPECT_EQ(at(2.69), Halved::no);
  EXPECT_EQ(at(2.71), Halved::rate_unconfirmed);
  EXPECT_EQ(at(9.5), Halved::rate_unconfirmed) << "wrong by ten";
  EXPECT_EQ(at(std::nan("")), Halved::rate_unconfirmed);
}

TEST(Anchor, far_more_than_chemistry_allows_halves_and_is_told_until_it_is_over) {
  Anchor anchor{{}, {kRate, true}};
  Told told{anchor};
  EXPECT_EQ(told.day(2.8, 0.1), Codes{}) << "not surely";
  EXPECT_EQ(anchor.halved({}), Halved::no);
  EXPECT_EQ(told.day(2.91, 0.1), Codes{"dose-beyond-chemistry"});
  EXPECT_EQ(anchor.halved({}), Halved::beyond_chemistry);
  EXPECT_TRUE(told.stored.beyond_chemistry);
  EXPECT_EQ(told.day(9.5), Codes{}) << "told already";
  EXPECT_EQ(told.day(2.71), Codes{});
  EXPECT_EQ(Anchor(told.stored, {kRate, true}).halved({}), Halved::beyond_chemistry)
      << "over a restart";
  EXPECT_EQ(told.day(2.69), Codes{"dose-within-chemistry"});
  EXPECT_EQ(anchor.halved({}), Halved::no);
  EXPECT_FALSE(told.stored.beyond_chemistry);
}

TEST(Anchor, a_slow_decline_is_told_against_the_first_effect) {
  Anchor anchor{{}, {kRate, true}};
  Told told{anchor};
  EXPECT_EQ(told.day(1.2, 0.1, 1.2), Codes{});
  EXPECT_EQ(told.stored.first_share, 1.2);
  EXPECT_EQ(told.day(0.8, 0.1, 0.85), Codes{});
  EXPECT_EQ(told.day(0.8, 0.1, 0.83), Codes{"dose-effect-declined"});
  EXPECT_EQ(told.day(0.7, 0.1, 0.75), Codes{}) << "told already";
  EXPECT_EQ(told.day(1.0, 0.1, 0.9), Codes{});
  EXPECT_EQ(told.day(1.2, 0.1, 1.0), Codes{"dose-effect-recovered"});
  EXPECT_EQ(told.stored.first_share, 1.2) << "the first one stays";

  Anchor restarted{told.stored, {kRate, true}};
  EXPECT_EQ(Told{restarted}.day(0.8, 0.1, 0.8), Codes{"dose-effect-declined"});
  Effects effects;
  restarted.begin_anew(effects);
  EXPECT_EQ(Told{restarted}.day(0.8, 0.1, 0.8), Codes{}) << "that is how it is now";
}

TEST(Anchor, what_was_stored_and_makes_no_sense_is_no_first_effect) {
  for (const double share : {0.0, -1.0, std::nan(""), 1e9}) {
    Anchor anchor{{.first_share = share}, {kRate, true}};
    EXPECT_EQ(Told{anchor}.day(1.0, 0.1, 1.0), Codes{});
    EXPECT_EQ(Told{anchor}.day(0.5, 0.1, 0.5), Codes{"dose-effect-declined"}) << share;
  }
}

TEST(Anchor, a_timed_run_confirms_within_what_a_cylinder_can_tell) {
  const auto confirms = [](double rate) {
    Anchor anchor{{}, {kRate}};
    Effects effects;
    const std::string why = anchor.confirm(MillilitresPerMinute{rate}, effects);
    EXPECT_EQ(anchor.halved({}), why.empty()            ? Halved::no
                                 : rate > kRate.count() ? Halved::rate_contradicted
                                                        : Halved::rate_unconfirmed);
    EXPECT_TRUE(why.empty() || why.find("rate_ml_per_min = ") != std::string::npos) << why;
    return why.empty();
  };
  EXPECT_FALSE(confirms(27.9));
  EXPECT_TRUE(confirms(28.1));
  EXPECT_TRUE(confirms(41.9));
  EXPECT_FALSE(confirms(42.1));
  EXPECT_FALSE(confirms(400.0));
  EXPECT_FALSE(confirms(std::nan("")));
}

Settings unconfirmed() {
  Settings settings = Bench::usual();
  settings.pump_rate_dated = false;
  return settings;
}

double planned_in(Bench& bench, Duration lasting) {
  const std::size_t before = bench.log.size();
  bench.run(lasting);
  double sum = 0.0;
  for (std::size_t i = before; i < bench.log.size(); ++i) {
    if (const auto* append = std::get_if<AppendPulse>(&bench.log[i])) {
      sum += append->pulse.volume.count();
    }
  }
  return sum;
}

TEST(RateUnconfirmed, half_of_the_plan_is_given_and_status_says_why) {
  Bench bench{unconfirmed()};
  bench.run(2h);
  EXPECT_NEAR(planned_in(bench, 24h), 360.0, 31.0);
  const Status status = bench.core.status(bench.now);
  EXPECT_EQ(status.day_volume, Millilitres{720.0});
  EXPECT_EQ(status.day_volume_in_force, Millilitres{360.0});
  EXPECT_NE(status.halved.find("confirm-rate"), std::string::npos);
  EXPECT_EQ(bench.raised("dosing-below-plan"), 0U) << "below the plan means the volume in force";
}

TEST(RateUnconfirmed, halvings_never_multiply) {
  Settings settings = unconfirmed();
  settings.begins_with = Millilitres{360.0};
  History far_too_much;
  far_too_much.anchor.beyond_chemistry = true;
  Bench beyond{settings, far_too_much};
  beyond.run(1min);
  EXPECT_EQ(beyond.core.status(beyond.now).day_volume_in_force, Millilitres{360.0});
  Bench gentle{settings};
  gentle.run(1min);
  EXPECT_EQ(gentle.core.status(gentle.now).day_volume_in_force, Millilitres{360.0})
      << "it begins with half already";
  History history;
  history.anchor.beyond_chemistry = true;
  Bench both{unconfirmed(), history};
  EXPECT_EQ(both.core.status(both.now).day_volume_in_force, Millilitres{360.0});
  EXPECT_EQ(both.command(SetDayVolume{Millilitres{200.0}}).verdict, Answer::Verdict::accepted);
  EXPECT_EQ(both.core.status(both.now).day_volume_in_force, Millilitres{100.0})
      << "while doses do far too much it is half of what is asked for";
  Bench less{unconfirmed()};
  EXPECT_EQ(less.command(SetDayVolume{Millilitres{200.0}}).verdict, Answer::Verdict::accepted);
  EXPECT_EQ(less.core.status(less.now).day_volume_in_force, Millilitres{200.0});
  EXPECT_EQ(less.command(SetDayVolume{Millilitres{50.0}}, Origin::afar).verdict,
            Answer::Verdict::accepted);
  EXPECT_EQ(less.core.status(less.now).day_volume_in_force, Millilitres{50.0});
}

TEST(RateUnconfirmed, a_timed_run_that_a_person_measured_ends_it) {
  Bench bench{unconfirmed()};
  bench.run(66min);
  EXPECT_EQ(bench.command(ConfirmRate{Millilitres{20.0}}).verdict, Answer::Verdict::refused)
      << "nothing ran yet";
  ASSERT_EQ(bench.command(RunAttended{Millilitres{20.0}}).verdict, Answer::Verdict::accepted);
  EXPECT_EQ(bench.command(ConfirmRate{Millilitres{20.0}}).verdict, Answer::Verdict::refused)
      << "it runs still";
  bench.run(3min);
  EXPECT_EQ(bench.command(ConfirmRate{Millilitres{19.0}}, Origin::afar).verdict,
            Answer::Verdict::refused);
  for (const double absurd : {0.0, -19.0, std::nan(""), 1e300}) {
    EXPECT_EQ(bench.command(ConfirmRate{Millilitres{absurd}}).verdict, Answer::Verdict::refused);
  }
  const Answer more = bench.command(ConfirmRate{Millilitres{200.0}});
  EXPECT_EQ(more.verdict, Answer::Verdict::refused);
  EXPECT_NE(more.sentence.find("rate_ml_per_min = 400"), std::string::npos) << more.sentence;
  EXPECT_EQ(bench.command(ConfirmRate{Millilitres{19.0}}).verdict, Answer::Verdict::accepted);
  EXPECT_EQ(bench.core.status(bench.now).day_volume_in_force, Millilitres{720.0});
  EXPECT_EQ(bench.core.status(bench.now).halved, "");
  ASSERT_TRUE(bench.newest<StoreAnchor>());
  EXPECT_EQ(bench.newest<StoreAnchor>()->learned.confirmed_rate, MillilitresPerMinute{40.0});
}

TEST(RateUnconfirmed, a_run_of_long_ago_or_too_short_confirms_nothing) {
  Bench late{unconfirmed()};
  late.run(66min);
  ASSERT_EQ(late.command(RunAttended{Millilitres{20.0}}).verdict, Answer::Verdict::accepted);
  late.run(2h + 5min);
  EXPECT_EQ(late.command(ConfirmRate{Millilitres{19.0}}).verdict, Answer::Verdict::refused);
  Bench brief{unconfirmed()};
  brief.run(66min);
  ASSERT_EQ(brief.command(RunAttended{Millilitres{10.0}}).verdict, Answer::Verdict::accepted);
  brief.run(3min);
  EXPECT_EQ(brief.command(ConfirmRate{Millilitres{9.5}}).verdict, Answer::Verdict::refused);
}

TEST(Anchor, a_measure_of_more_than_counts_halves_whatever_was_known) {
  for (const LearnedAnchor& known : {LearnedAnchor{}, LearnedAnchor{.confirmed_rate = kRate}}) {
    for (const bool dated : {false, true}) {
      Anchor anchor{known, {kRate, dated}};
      Effects effects;
      EXPECT_NE(anchor.confirm(MillilitresPerMinute{120.0}, effects), "");
      EXPECT_EQ(anchor.halved(1.0), Halved::rate_contradicted);
      const LearnedAnchor stored = std::get<StoreAnchor>(effects.back()).learned;
      EXPECT_EQ(Anchor(stored, {kRate, dated}).halved(1.0), Halved::rate_contradicted)
          << "over a restart";
      EXPECT_EQ(Anchor(stored, {MillilitresPerMinute{120.0}, true}).halved(1.0), Halved::no)
          << "the file was corrected, and dated";
      EXPECT_EQ(anchor.confirm(MillilitresPerMinute{39.0}, effects), "");
      EXPECT_EQ(anchor.halved({}), Halved::no) << "measured again";
    }
  }
}

TEST(Anchor, that_doses_do_far_too_much_is_an_alert_after_each_start_and_a_measure_ends_it) {
  Anchor anchor{{.beyond_chemistry = true}, {kRate, true}};
  const auto raised = [&] {
    Effects effects;
    anchor.step(kNow, effects);
    return effects.empty() ? std::string{} : std::get<Raise>(effects.front()).event.code;
  };
  EXPECT_EQ(raised(), "dose-beyond-chemistry");
  EXPECT_EQ(raised(), "");
  Effects effects;
  EXPECT_EQ(anchor.confirm(kRate, effects), "");
  EXPECT_EQ(raised(), "dose-within-chemistry");
  EXPECT_EQ(anchor.halved({}), Halved::no);
}

TEST(RateUnconfirmed, what_was_learned_under_another_rate_confirms_none) {
  History history;
  history.effect = {1.0, EffectCheck::kMemoryDays};
  history.anchor.rate = MillilitresPerMinute{40.0};
  Settings settings = unconfirmed();
  Bench same{settings, history};
  EXPECT_EQ(same.core.status(same.now).day_volume_in_force, Millilitres{720.0});
  settings.plan.pump_rate = MillilitresPerMinute{10.0};  // so that the pump runs four times as long
  Bench changed{settings, history};
  EXPECT_EQ(changed.core.status(changed.now).day_volume_in_force, Millilitres{360.0});
  EXPECT_FALSE(changed.core.status(changed.now).usual_effect);
}

TEST(RateUnconfirmed, is_not_confirmed_while_it_cannot_be_written_down) {
  Bench bench{unconfirmed()};
  bench.run(66min);
  ASSERT_EQ(bench.command(RunAttended{Millilitres{20.0}}).verdict, Answer::Verdict::accepted);
  bench.run(3min);
  bench.see(LedgerFault{"disk full"});
  EXPECT_EQ(bench.command(ConfirmRate{Millilitres{19.0}}).verdict, Answer::Verdict::refused);
  EXPECT_EQ(bench.core.status(bench.now).day_volume_in_force, Millilitres{360.0});
}

}  // namespace
}  // namespace limegate::station
