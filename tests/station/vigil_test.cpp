// What is told when nothing happens, alone.

#include "station/vigil.h"

#include <gtest/gtest.h>

#include "station/part.h"

namespace limegate::station {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

constexpr Millilitres kDay{720.0};

class VigilAlone : public testing::Test {
 protected:
  VigilAlone() { vigil.dosing(kStart.mono); }
  void silence(Duration at, Millilitres wished = kDay) {
    vigil.note_silence(
        after(at), wished, [&] { return ++asked, std::string{" Because."}; }, effects);
  }

  Effects effects;
  int asked = 0;
  Vigil vigil{part_settings(), {}, {}, kStart};
};

TEST_F(VigilAlone, silence_is_told_after_6_h_with_why_and_its_end_too) {
  silence(6h - 1s);
  EXPECT_EQ(raised(effects, "dosing-stopped"), 0);
  EXPECT_EQ(asked, 0) << "what holds is asked only when it is told";
  silence(6h);
  silence(7h);
  EXPECT_EQ(raised(effects, "dosing-stopped"), 1);
  EXPECT_EQ(asked, 1);
  EXPECT_EQ(std::get<Raise>(effects[0]).event.sentence,
            "No limewater was dosed for 6 h 00 min. Because.");
  silence(12h);
  EXPECT_EQ(raised(effects, "dosing-stopped"), 2);
  vigil.dosing(after(13h).mono);
  silence(13h);
  EXPECT_EQ(raised(effects, "dosing-resumed"), 1);
}

TEST_F(VigilAlone, who_wishes_nothing_is_told_nothing) {
  silence(50h, Millilitres{0.0});
  vigil.note_day(after(50h), Millilitres{0.0}, Millilitres{0.0}, effects);
  EXPECT_TRUE(effects.empty());
}

TEST_F(VigilAlone, silence_counts_from_the_end_of_what_was_wished) {
  silence(50h, Millilitres{0.0});
  silence(50h + 1s);
  silence(56h - 1s);
  EXPECT_EQ(raised(effects, "dosing-stopped"), 0);
  silence(56h);
  EXPECT_EQ(raised(effects, "dosing-stopped"), 1);
  silence(57h, Millilitres{0.0});
  EXPECT_EQ(raised(effects, "dosing-resumed"), 1) << "what is wished needs nobody";
}

TEST_F(VigilAlone, silence_counts_from_there_over_a_restart_too) {
  History history;
  history.newest_given = dosing::Stamp{10h, {}};
  history.volumes = {{dosing::Stamp{20h, {}}, Millilitres{0.0}}, {dosing::Stamp{95h, {}}, kDay}};
  Vigil restarted{part_settings(), history, {}, {Instant{100h}, WallTime{}}};
  Effects told;
  const auto why = [] { return std::string{}; };
  restarted.note_silence({Instant{100h}, WallTime{}}, kDay, why, told);
  EXPECT_EQ(raised(told, "dosing-stopped"), 0);
  restarted.note_silence({Instant{101h}, WallTime{}}, kDay, why, told);
  EXPECT_EQ(raised(told, "dosing-stopped"), 1);
}

// Found by a review: what automation set to zero is told, whatever starts come between.
TEST_F(VigilAlone, silence_that_afar_wished_counts_over_a_restart) {
  History history;
  history.newest_given = dosing::Stamp{10h, {}};
  history.volumes = {{dosing::Stamp{20h, {}}, Millilitres{0.0}}, {dosing::Stamp{95h, {}}, kDay}};
  history.wishes = {Wish{Wish::What::volume_from_afar, kDay}};
  Vigil restarted{part_settings(), history, {}, {Instant{100h}, WallTime{}}};
  Effects told;
  restarted.note_silence(
      {Instant{100h}, WallTime{}}, kDay, [] { return std::string{}; }, told);
  EXPECT_EQ(raised(told, "dosing-stopped"), 1);
}

TEST_F(VigilAlone, a_day_is_looked_at_24_h_after_it_was_raised_over_a_restart_too) {
  History history;
  history.newest_given = dosing::Stamp{10h, {}};
  history.volumes = {{dosing::Stamp{20h, {}}, kDay / 4.0}, {dosing::Stamp{95h, {}}, kDay}};
  const Vigil restarted{part_settings(), history, {}, {Instant{100h}, WallTime{}}};
  EXPECT_FALSE(restarted.day_is_over(Instant{119h - 1s}));
  EXPECT_TRUE(restarted.day_is_over(Instant{119h}));
}

TEST_F(VigilAlone, a_day_is_looked_at_24_h_after_more_was_wished_for) {
  silence(24h, kDay / 4.0);
  silence(40h, kDay);
  EXPECT_FALSE(vigil.day_is_over(after(64h - 1s).mono));
  EXPECT_TRUE(vigil.day_is_over(after(64h).mono));
}

TEST_F(VigilAlone, a_day_of_less_than_half_the_plan_is_told_once_a_day) {
  vigil.note_day(after(25h), kDay, Millilitres{360.0}, effects);
  EXPECT_EQ(raised(effects, "dosing-below-plan"), 0) << "half is not less than half";
  EXPECT_FALSE(vigil.day_is_over(after(49h - 1s).mono));
  vigil.note_day(after(49h - 1s), kDay, Millilitres{0.0}, effects);
  EXPECT_EQ(raised(effects, "dosing-below-plan"), 0);
  EXPECT_TRUE(vigil.day_is_over(after(49h).mono));
  vigil.note_day(after(49h), kDay, Millilitres{359.9}, effects);
  EXPECT_EQ(raised(effects, "dosing-below-plan"), 1);
}

TEST_F(VigilAlone, a_hold_that_does_not_mend_itself_is_told_after_10_min_once_each_time) {
  const rules::Holds holds{rules::ProbeMissing{rules::Role::ph}, rules::Paused{1h}};
  const auto note = [&](Duration at, Duration since) {
    vigil.note_long_holds(after(at), holds,
                          {{"ph-missing", after(since)}, {"paused", after(since)}}, effects);
  };
  note(10min - 1s, 0s);
  EXPECT_TRUE(effects.empty());
  note(10min, 0s);
  note(20min, 0s);
  EXPECT_EQ(raised(effects, "long-ph-missing"), 1);
  EXPECT_EQ(raised(effects, "long-paused"), 0) << "it is the keeper's own wish";
  vigil.note_long_holds(after(21min), {}, {}, effects);
  note(31min, 22min);
  EXPECT_EQ(raised(effects, "long-ph-missing"), 1);
  note(32min, 22min);
  EXPECT_EQ(raised(effects, "long-ph-missing"), 2) << "it came again";
}

TEST_F(VigilAlone, water_too_warm_is_told_and_when_it_is_over_by_half_a_degree) {
  const auto show = [&](double celsius) {
    signal::Reading reading;
    reading.quality = signal::Quality::good;
    reading.value = celsius;
    vigil.note_temperature(kStart, reading, effects);
  };
  show(29.0);
  EXPECT_TRUE(effects.empty());
  show(29.1);
  show(28.6);
  EXPECT_EQ(raised(effects, "temperature-unusual"), 1);
  EXPECT_EQ(raised(effects, "temperature-usual"), 0);
  show(28.5);
  EXPECT_EQ(raised(effects, "temperature-usual"), 1);
}

}  // namespace
}  // namespace limegate::station
