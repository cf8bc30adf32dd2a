// What is known of pH and temperature, alone: no pump, no rules.

#include "station/probes.h"

#include <gtest/gtest.h>

#include "station/part.h"

namespace limegate::station {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using rules::Role;
using Says = Probes::Says;

TEST(Probes, say_of_a_raw_ph_at_once_whether_it_can_be_true) {
  Probes probes{part_settings()};
  EXPECT_EQ(probes.take(kStart, {Role::ph, 8.2}), Says::plausible_ph);
  EXPECT_EQ(probes.take(kStart, {Role::ph, 7.05}), Says::implausible_ph);
  EXPECT_EQ(probes.take(kStart, {Role::ph, std::nullopt}), Says::nothing) << "no answer";
  EXPECT_EQ(probes.take(kStart, {Role::temperature, 99.0}), Says::nothing) << "no pH";
  EXPECT_EQ(probes.take(kStart, {Role::second_ph, 8.2}), Says::nothing) << "there is none";
}

TEST(Probes, of_two_the_one_that_shows_more_counts) {
  Settings settings = part_settings();
  settings.second_ph = settings.ph;
  Probes probes{settings};
  EXPECT_EQ(probes.take(kStart, {Role::ph, 8.2}), Says::plausible_ph);
  EXPECT_EQ(probes.take(kStart, {Role::second_ph, 8.3}), Says::plausible_ph);
  EXPECT_DOUBLE_EQ(probes.reading(Role::ph, kStart.mono).value, 8.3);
  rules::Snapshot known;
  probes.know(kStart.mono, known);
  EXPECT_DOUBLE_EQ(known.ph.value, 8.2);
  ASSERT_TRUE(known.second_ph);
  EXPECT_DOUBLE_EQ(known.second_ph->value, 8.3);
}

TEST(Probes, an_answer_is_as_old_as_it_was_when_it_arrived) {
  Probes probes{part_settings()};
  (void)probes.take(kStart, {Role::ph, 8.2, kStart.mono - 7s});
  EXPECT_EQ(probes.reading(Role::ph, kStart.mono).age, 7s);
}

TEST(Probes, a_stir_disturbs_and_a_pulse_must_mix_in_too) {
  Probes probes{part_settings()};
  const auto disturbed_until = [&] {
    rules::Snapshot known;
    probes.know(kStart.mono, known);
    return known.disturbed_until;
  };
  EXPECT_FALSE(disturbed_until());
  EXPECT_TRUE(probes.mixed(kStart.mono));
  probes.disturb(kStart.mono, Probes::By::stirrer);
  EXPECT_EQ(disturbed_until(), kStart.mono + 60s);
  EXPECT_TRUE(probes.mixed(kStart.mono));
  probes.disturb(kStart.mono, Probes::By::pump);
  EXPECT_FALSE(probes.mixed(kStart.mono + 3min - 1s));
  EXPECT_TRUE(probes.mixed(kStart.mono + 3min));
}

}  // namespace
}  // namespace limegate::station
