#include <chrono>
#include <cmath>
#include <functional>
#include <limits>
#include <random>

#include <gtest/gtest.h>

#include "station/bench.h"

namespace limegate::station {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

constexpr auto kAccepted = Answer::Verdict::accepted;
constexpr auto kRefused = Answer::Verdict::refused;

/// What a scene must have been through before the command comes.
enum class Before {
  nothing,
  paused_at_station,
  paused_from_afar,
  settled,
  second_ceiling_and_calm,
  second_ceiling_still
};

void set_scene(Bench& bench, Before before) {
  bench.run(10min);
  switch (before) {
    case Before::nothing:
      return;
    case Before::paused_at_station:
      (void)bench.command(Pause{1h}, Origin::station);
      return;
    case Before::paused_from_afar:
      (void)bench.command(Pause{1h}, Origin::afar);
      return;
    case Before::settled:
      bench.run(60min);
      return;
    case Before::second_ceiling_and_calm:
      bench.ph = 8.65;
      bench.run(1min);
      bench.ph = 8.2;
      bench.run(30min);
      return;
    case Before::second_ceiling_still:
      bench.ph = 8.65;
      bench.run(1min);
      return;
  }
}

struct Row {
  const char* name;
  Before before;
  Command command;
  Answer::Verdict at_station, from_afar;
  const char* sentence;  ///< a part of what the station says to it at the station
};
std::ostream& operator<<(std::ostream& out, const Row& row) { return out << row.name; }

const Row kRows[] = {
    {"pause", Before::nothing, Pause{2h}, kAccepted, kAccepted, "Paused for 2 h 00 min"},
    {"pause_for_no_time", Before::nothing, Pause{0s}, kRefused, kRefused, "above zero"},
    {"pause_for_a_negative_time", Before::nothing, Pause{-1h}, kRefused, kRefused, "above zero"},
    {"pause_beyond_a_day_is_cut", Before::nothing, Pause{100h}, kAccepted, kAccepted, "24 h"},
    {"resume_what_is_not_paused", Before::nothing, Resume{}, kRefused, kRefused, "not paused"},
    {"resume_a_pause_of_the_station", Before::paused_at_station, Resume{}, kAccepted, kRefused,
     "No longer paused"},
    {"resume_a_pause_from_afar", Before::paused_from_afar, Resume{}, kAccepted, kAccepted,
     "No longer paused"},
    {"resume_a_latched_hold", Before::second_ceiling_still, Resume{}, kRefused, kRefused,
     "not paused"},
    {"release_what_is_not_latched", Before::nothing, Release{"ph-second-ceiling"}, kRefused,
     kRefused, "no latched hold"},
    {"release_with_its_cause_still_there", Before::second_ceiling_still,
     Release{"ph-second-ceiling"}, kRefused, kRefused, "not gone"},
    {"release_with_its_cause_gone", Before::second_ceiling_and_calm, Release{"ph-second-ceiling"},
     kAccepted, kRefused, "Released"},
    {"release_a_hold_that_is_not_latched", Before::nothing, Release{"settling"}, kRefused, kRefused,
     "go by themselves"},
    {"release_a_made_up_hold", Before::nothing, Release{"\x01"}, kRefused, kRefused, ""},
    {"volume_zero", Before::nothing, SetDayVolume{Millilitres{0.0}}, kAccepted, kAccepted,
     "next clear window"},
    {"volume_as_set_at_the_station", Before::nothing, SetDayVolume{Millilitres{720.0}}, kAccepted,
     kAccepted, "720.0 mL"},
    {"volume_a_little_above_it", Before::nothing, SetDayVolume{Millilitres{720.1}}, kAccepted,
     kRefused, "720.1 mL"},
    {"volume_at_the_days_limit", Before::nothing, SetDayVolume{Millilitres{1000.0}}, kAccepted,
     kRefused, ""},
    {"volume_above_the_days_limit", Before::nothing, SetDayVolume{Millilitres{1000.1}}, kRefused,
     kRefused, "max_day_ml"},
    {"volume_that_is_absurd", Before::nothing, SetDayVolume{Millilitres{1e300}}, kRefused, kRefused,
     "max_day_ml"},
    {"volume_below_zero", Before::nothing, SetDayVolume{Millilitres{-0.1}}, kRefused, kRefused,
     "zero or above"},
    {"volume_that_is_not_a_number", Before::nothing,
     SetDayVolume{Millilitres{std::numeric_limits<double>::quiet_NaN()}}, kRefused, kRefused,
     "zero or above"},
    {"volume_without_end", Before::nothing,
     SetDayVolume{Millilitres{std::numeric_limits<double>::infinity()}}, kRefused, kRefused, ""},
    {"stir_too_soon_after_the_last", Before::nothing, StirNow{}, kRefused, kRefused,
     "quarter of the time"},
    {"stir_when_both_rest", Before::settled, StirNow{}, kAccepted, kRefused, "Stirs now"},
    {"switch_all_off", Before::nothing, SwitchAllOff{}, kAccepted, kRefused, "switched-off"},
    {"switch_all_off_when_held_already", Before::second_ceiling_still, SwitchAllOff{}, kAccepted,
     kRefused, "stays off"},
    {"attended_run_while_it_settles", Before::nothing, RunAttended{Millilitres{20.0}}, kRefused,
     kRefused, "settles"},
    {"attended_run_while_paused", Before::paused_at_station, RunAttended{Millilitres{20.0}},
     kRefused, kRefused, "Paused"},
    {"attended_run", Before::settled, RunAttended{Millilitres{100.0}}, kAccepted, kRefused,
     "counted"},
    {"attended_run_at_its_bound", Before::settled, RunAttended{Millilitres{200.0}}, kAccepted,
     kRefused, "counted"},
    {"attended_run_above_five_minutes", Before::settled, RunAttended{Millilitres{200.1}}, kRefused,
     kRefused, "at most 200.0 mL"},
    {"attended_run_of_nothing", Before::settled, RunAttended{Millilitres{0.0}}, kRefused, kRefused,
     "above zero"},
    {"attended_run_that_is_not_a_number", Before::settled,
     RunAttended{Millilitres{std::numeric_limits<double>::quiet_NaN()}}, kRefused, kRefused,
     "above zero"},
};

/// 720 mL a day in the file; 40 mL/min, so five minutes are 200 mL.
Settings scene() {
  Settings settings = Bench::usual();
  settings.limits.day = Millilitres{1000.0};
  settings.limits.hour = Millilitres{250.0};
  return settings;
}

class CommandTable : public testing::TestWithParam<Row> {};
INSTANTIATE_TEST_SUITE_P(Rows, CommandTable, testing::ValuesIn(kRows),
                         [](const auto& row) { return std::string{row.param.name}; });

TEST_P(CommandTable, at_the_station) {
  Bench bench{scene()};
  set_scene(bench, GetParam().before);
  const Answer answer = bench.command(GetParam().command, Origin::station);
  EXPECT_EQ(answer.verdict, GetParam().at_station) << answer.sentence;
  EXPECT_NE(answer.sentence.find(GetParam().sentence), std::string::npos) << answer.sentence;
}

TEST_P(CommandTable, from_afar) {
  Bench bench{scene()};
  set_scene(bench, GetParam().before);
  const Answer answer = bench.command(GetParam().command, Origin::afar);
  EXPECT_EQ(answer.verdict, GetParam().from_afar) << answer.sentence;
  EXPECT_FALSE(answer.sentence.empty());
}

TEST(PauseSentence, says_that_dosing_goes_on_only_where_nothing_else_stands) {
  const auto goes_on = [](const Answer& answer) {
    return answer.sentence.find("dosing then goes on by itself") != std::string::npos;
  };
  Bench open{scene()};
  set_scene(open, Before::settled);
  EXPECT_TRUE(goes_on(open.command(Pause{1h}, Origin::afar)));
  EXPECT_TRUE(goes_on(open.command(Pause{2h}, Origin::station))) << "the longest of them";
  const Answer shorter = open.command(Pause{30min}, Origin::afar);
  EXPECT_FALSE(goes_on(shorter)) << shorter.sentence;
  EXPECT_NE(shorter.sentence.find("the pause set at the station lasts longer, for another 2 h"),
            std::string::npos)
      << shorter.sentence;
  Bench held{scene()};
  set_scene(held, Before::second_ceiling_still);
  const Answer beside = held.command(Pause{1h}, Origin::station);
  EXPECT_FALSE(goes_on(beside)) << beside.sentence;
  EXPECT_NE(beside.sentence.find("ph-second-ceiling"), std::string::npos) << beside.sentence;
}

TEST(Pauses, are_shown_with_who_asked_and_until_when) {
  Bench bench{scene()};
  set_scene(bench, Before::settled);
  EXPECT_TRUE(bench.core.status(bench.now).pauses.empty());
  (void)bench.command(Pause{1h}, Origin::afar);
  (void)bench.command(Pause{2h}, Origin::station);
  const Status status = bench.core.status(bench.now);
  ASSERT_EQ(status.pauses.size(), 2U);
  EXPECT_EQ(status.pauses[0].by, Origin::station);
  EXPECT_EQ(status.pauses[0].until, bench.now.wall + 2h);
  EXPECT_EQ(status.pauses[1].by, Origin::afar);
  EXPECT_EQ(status.pauses[1].until, bench.now.wall + 1h);
  bench.run(61min);
  EXPECT_EQ(bench.core.status(bench.now).pauses.size(), 1U) << "one is over";
}

TEST_P(CommandTable, energises_nothing_by_itself) {
  Bench bench{scene()};
  set_scene(bench, GetParam().before);
  const std::size_t runs = bench.count<RunEffect>();
  (void)bench.command(GetParam().command, Origin::station);
  EXPECT_EQ(bench.count<RunEffect>(), runs);
}

/// The volumes of all pulses with when they were reserved.
std::vector<std::pair<Duration, double>> pulses_of(const Bench& bench) {
  std::vector<std::pair<Duration, double>> pulses;
  for (const Effect& effect : bench.log) {
    if (const auto* append = std::get_if<AppendPulse>(&effect)) {
      pulses.emplace_back(append->pulse.reserved.lifetime, append->pulse.volume.count());
    }
  }
  return pulses;
}

double most_in_a_day(const Bench& bench) {
  const auto pulses = pulses_of(bench);
  double most = 0.0;
  for (std::size_t first = 0; first < pulses.size(); ++first) {
    double sum = 0.0;
    for (std::size_t n = first; n < pulses.size() && pulses[n].first - pulses[first].first < 24h;
         ++n) {
      sum += pulses[n].second;
    }
    most = std::max(most, sum);
  }
  return most;
}

Command random_command(std::mt19937& random) {
  const auto number = [&](double low, double high) {
    return std::uniform_real_distribution<>{low, high}(random);
  };
  switch (random() % 7) {
    case 0:
      return Pause{std::chrono::seconds{static_cast<int>(number(-100, 20000))}};
    case 1:
      return Resume{};
    case 2:
      return Release{"ph-second-ceiling"};
    case 3:
      return StirNow{};
    case 4:
      return RunAttended{Millilitres{number(0, 200)}};
    default:
      return SetDayVolume{Millilitres{number(-100, 1100)}};
  }
}

class FromAfar : public testing::TestWithParam<unsigned> {};
INSTANTIATE_TEST_SUITE_P(Seeds, FromAfar, testing::Range(1U, 13U));

// The day's limit leaves room above the volume that was set: only the commands could use it.
TEST_P(FromAfar, no_sequence_of_commands_gives_more_than_was_set_at_the_station) {
  std::mt19937 random{GetParam()};
  Settings settings = scene();
  settings.limits.day = Millilitres{5000.0};
  settings.limits.hour = Millilitres{5000.0};
  Bench bench{settings};
  // Some are patient, some send many a minute; one restart in the middle.
  const double mean_s = std::array{20.0, 300.0, 3000.0}[GetParam() % 3];
  Instant next = bench.now.mono;
  for (const Instant end = bench.now.mono + 50h; bench.now.mono < end; bench.second()) {
    if (bench.now.mono >= next) {
      (void)bench.command(random_command(random), Origin::afar);
      next += std::chrono::seconds{
          1 + static_cast<int>(std::exponential_distribution<>{1.0 / mean_s}(random))};
    }
  }
  EXPECT_LE(most_in_a_day(bench), 720.0 + 1e-6) << "seed " << GetParam();
  EXPECT_FALSE(pulses_of(bench).empty() && mean_s > 1000.0);
}

// Found by a campaign: the ledger never learned that the volume was lowered, so that a restart gave
// by the former one for a day.
TEST(FaultyLedger, hears_of_the_volume_in_force_when_it_is_sound_again) {
  Bench bench;
  bench.run(10min);
  bench.see(LedgerFault{"read-only"});
  ASSERT_EQ(bench.command(SetDayVolume{Millilitres{100.0}}).verdict, kAccepted);
  bench.run(1min);
  bench.log.clear();  // nothing of this came to the disk
  bench.see(LedgerSound{});
  ASSERT_TRUE(bench.newest<StoreVolumeInForce>());
  EXPECT_EQ(bench.newest<StoreVolumeInForce>()->volume.volume, Millilitres{100.0});
}

// What is accepted while the ledger is faulty is written when it is sound; or it is refused.
TEST(FaultyLedger, forgets_nothing_that_was_accepted_meanwhile) {
  const auto restarted = [](const std::function<void(Bench&)>& before,
                            const std::function<void(Bench&)>& meanwhile) {
    Bench bench;
    bench.run(10min);
    before(bench);
    bench.see(LedgerFault{"read-only"});
    const std::size_t faulty_from = bench.log.size();
    meanwhile(bench);
    bench.run(1min);
    // Nothing of this came to the disk.
    bench.log.resize(faulty_from);
    bench.see(LedgerSound{});
    bench.run(1min);
    return Bench{Bench::usual(), bench.history(), bench.now};
  };
  const auto volume = [](double ml, Origin origin) {
    return [ml, origin](Bench& bench) {
      ASSERT_EQ(bench.command(SetDayVolume{Millilitres{ml}}, origin).verdict, kAccepted);
    };
  };
  const auto nothing = [](Bench&) {};
  const auto of = [](const Bench& bench) { return bench.core.status(bench.now); };

  EXPECT_EQ(of(restarted(nothing, volume(0.0, Origin::afar))).day_volume.count(), 0.0);
  EXPECT_EQ(of(restarted(nothing, volume(100.0, Origin::station))).day_volume.count(), 100.0);
  EXPECT_EQ(of(restarted(volume(0.0, Origin::station), volume(720.0, Origin::station)))
                .day_volume.count(),
            720.0)
      << "the file's own volume again";
  EXPECT_GT(
      of(restarted(nothing,
                   [](Bench& bench) { ASSERT_EQ(bench.command(Pause{2h}).verdict, kAccepted); }))
          .pause_remaining,
      110min);
  EXPECT_EQ(
      of(restarted([](Bench& bench) { (void)bench.command(Pause{2h}); },
                   [](Bench& bench) { ASSERT_EQ(bench.command(Resume{}).verdict, kAccepted); }))
          .pause_remaining,
      0s);
  (void)restarted(nothing, [](Bench& bench) {
    for (const Command& what : {Command{Release{"ph-second-ceiling"}}, Command{Relearn{}},
                                Command{ConfirmRate{Millilitres{20.0}}}}) {
      const Answer answer = bench.command(what);
      EXPECT_EQ(answer.verdict, kRefused);
      EXPECT_NE(answer.sentence.find("ledger"), std::string::npos) << answer.sentence;
    }
  });
}

TEST(DayVolume, set_to_zero_gives_no_pulse_and_is_no_secret) {
  Bench bench;
  bench.run(10min);
  ASSERT_EQ(bench.command(SetDayVolume{Millilitres{0.0}}, Origin::afar).verdict, kAccepted);
  bench.run(7h);
  EXPECT_EQ(bench.count<AppendPulse>(), 0U);
  EXPECT_EQ(bench.raised("dosing-stopped"), 1U);
  EXPECT_NE(bench.newest_event("dosing-stopped").sentence.find("from afar"), std::string::npos);
}

TEST(DayVolume, set_at_the_station_ends_what_was_set_from_afar) {
  Bench bench{scene()};
  (void)bench.command(SetDayVolume{Millilitres{100.0}}, Origin::afar);
  EXPECT_EQ(bench.core.status(bench.now).day_volume.count(), 100.0);
  EXPECT_EQ(bench.core.status(bench.now).day_volume_at_station.count(), 720.0);
  (void)bench.command(SetDayVolume{Millilitres{300.0}}, Origin::station);
  EXPECT_EQ(bench.core.status(bench.now).day_volume.count(), 300.0);
  EXPECT_EQ(bench.command(SetDayVolume{Millilitres{301.0}}, Origin::afar).verdict, kRefused);
  bench.run(24h + 10min);
  EXPECT_LE(most_in_a_day(bench), 300.0 + 1e-6);
  EXPECT_GT(most_in_a_day(bench), 250.0);
}

TEST(AttendedRun, is_counted_in_full_in_ordinary_pulses_with_a_rest_after_each) {
  Bench bench{scene()};
  bench.run(80min);
  const std::size_t before = pulses_of(bench).size();
  const double given = bench.core.status(bench.now).given_day.count();
  EXPECT_FALSE(bench.core.status(bench.now).attended_run);
  ASSERT_EQ(bench.command(RunAttended{Millilitres{70.0}}).verdict, kAccepted);
  ASSERT_TRUE(bench.until<AppendPulse>(10s));
  EXPECT_TRUE(bench.core.status(bench.now).attended_run->under_way);
  bench.run(8min);
  // 70 mL at 40 mL/min.
  const auto shown = bench.core.status(bench.now).attended_run;
  ASSERT_TRUE(shown);
  EXPECT_FALSE(shown->under_way);
  EXPECT_NEAR(in_minutes(shown->ran), 70.0 / 40.0, 0.02);
  const auto pulses = pulses_of(bench);
  ASSERT_GE(pulses.size(), before + 3);
  EXPECT_NEAR(pulses[before].second, 30.0, 1e-9);
  EXPECT_NEAR(pulses[before + 2].second, 10.0, 1e-9);
  EXPECT_GE(pulses[before + 1].first - pulses[before].first, 45s + 60s);
  EXPECT_NEAR(bench.core.status(bench.now).given_day.count() - given, 70.0, 31.0);
  EXPECT_EQ(bench.raised("attended-run-over"), 1U);
  EXPECT_NE(bench.newest_event("attended-run-over").sentence.find("70.0 mL are counted"),
            std::string::npos)
      << bench.newest_event("attended-run-over").sentence;
}

TEST(AttendedRun, ends_for_good_with_the_first_hold) {
  Bench bench{scene()};
  bench.run(80min);
  ASSERT_EQ(bench.command(RunAttended{Millilitres{200.0}}).verdict, kAccepted);
  ASSERT_TRUE(bench.until<RunEffect>(10s));
  bench.see(ProbeSample{rules::Role::ph, 8.5});
  bench.run(10s);
  EXPECT_EQ(bench.raised("attended-run-over"), 1U);
  EXPECT_NE(bench.newest_event("attended-run-over").sentence.find("held back"), std::string::npos);
}

TEST(AttendedRun, never_passes_an_allowance) {
  Settings settings = scene();
  settings.limits.hour = Millilitres{50.0};
  Bench bench{settings};
  bench.run(75min);
  const Answer answer = bench.command(RunAttended{Millilitres{60.0}});
  EXPECT_EQ(answer.verdict, kRefused);
  EXPECT_NE(answer.sentence.find("allowance of 50.0 mL"), std::string::npos) << answer.sentence;
}

TEST(StirOnDemand, settles_like_any_stir) {
  Bench bench;
  bench.run(80min);
  ASSERT_EQ(bench.command(StirNow{}).verdict, kAccepted);
  ASSERT_TRUE(bench.until<AppendStir>(5s));
  bench.run(10s);
  EXPECT_TRUE(bench.held_for("stirrer-running"));
  bench.run(16min);
  EXPECT_TRUE(bench.held_for("settling"));
  bench.run(55min);
  EXPECT_TRUE(bench.held_for("settling"));
}

TEST(LongHold, needs_a_person_after_ten_minutes_to_the_second) {
  Bench bench;
  bench.run(20min);
  bench.samples = false;
  bench.run(11s);
  ASSERT_TRUE(bench.held_for("ph-stale"));
  bench.run(10min - 2s);
  EXPECT_EQ(bench.raised("long-ph-stale"), 0U);
  bench.run(3s);
  EXPECT_EQ(bench.raised("long-ph-stale"), 1U);
  EXPECT_TRUE(bench.alert_stands("ph-stale"));
  bench.samples = true;
  bench.run(10s);
  EXPECT_FALSE(bench.alert_stands("ph-stale"));
  EXPECT_EQ(bench.raised("long-ph-stale"), 1U);
}

TEST(LongHold, is_no_alert_when_it_is_a_wish_or_a_rhythm) {
  Bench bench;
  (void)bench.command(Pause{5h});
  bench.run(1h);
  EXPECT_FALSE(bench.alert_stands("paused"));
  EXPECT_FALSE(bench.alert_stands("settling"));
}

}  // namespace
}  // namespace limegate::station
