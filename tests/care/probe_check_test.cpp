// A pH probe in two buffers, worked by hand. Buffers at 25 °C: 7.00 and 10.01 (the makers'
// technical buffers, tests/data/ph_buffers.csv); Nernst's slope there 59.16 mV (CODATA 2018).

#include "care/probe_check.h"

#include <chrono>

#include <gtest/gtest.h>

#include "support/program.h"

namespace limegate::care {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using test::contains;

const WallTime kStart{std::chrono::sys_days{std::chrono::year{2026} / 9 / 1}};

// "At 8.2: u² = (0.6 u7)² + (0.4 u10)²" (CARE.md, section 8): 0.6 of the one and 0.4 of the other.
TEST(ProbeCheck, tells_the_slope_and_what_it_is_off_by_in_a_reef) {
  const ProbeVerdict found = verdict_of({Ph{7.00}, Ph{7.05}}, {Ph{10.01}, Ph{9.96}}, Ph{7.05});
  EXPECT_NEAR(found.slope.count(), 100.0 * 2.91 / 3.01, 1e-9);
  EXPECT_NEAR(found.at_reef.count(), 0.6 * 0.05 - 0.4 * 0.05, 0.0005);
  EXPECT_TRUE(found.serves) << found.sentence;
}

TEST(ProbeCheck, says_what_is_wrong) {
  const InBuffer seven{Ph{7.00}, Ph{7.00}};
  const InBuffer ten{Ph{10.01}, Ph{10.01}};
  EXPECT_TRUE(verdict_of(seven, ten, Ph{7.02}).serves);
  const ProbeVerdict wanders = verdict_of(seven, ten, Ph{7.03});
  EXPECT_FALSE(wanders.serves);
  EXPECT_TRUE(contains(wanders.sentence, "did not come back")) << wanders.sentence;
  EXPECT_TRUE(verdict_of({Ph{7.00}, Ph{7.10}}, {Ph{10.01}, Ph{10.11}}, Ph{7.10}).serves);
  const ProbeVerdict off = verdict_of({Ph{7.00}, Ph{7.11}}, {Ph{10.01}, Ph{10.12}}, Ph{7.11});
  EXPECT_FALSE(off.serves);
  EXPECT_TRUE(contains(off.sentence, "Calibrate the transmitter")) << off.sentence;
  // 84 % of 3.01 is 2.53.
  const ProbeVerdict flat = verdict_of(seven, {Ph{10.01}, Ph{9.53}}, Ph{7.00});
  EXPECT_FALSE(flat.serves);
  EXPECT_TRUE(contains(flat.sentence, "replace the electrode")) << flat.sentence;
}

// A sound electrode of 97 % and +5 mV shows 5.0 mV in 7.00 and 5 - 0.97 · 59.16 · 3.01 = -167.7 mV
// in 10.01.
TEST(ProbeCheck, reads_millivolts) {
  const ProbeVerdict good =
      verdict_of({Celsius{25}, Millivolts{5.0}, Millivolts{-167.7}, Millivolts{5.5}});
  EXPECT_NEAR(good.slope.count(), 97.0, 0.1);
  EXPECT_NEAR(good.back.count(), -0.5 / 59.16, 1e-4);
  EXPECT_TRUE(good.serves) << good.sentence;
  EXPECT_TRUE(contains(good.sentence, "sound electrode")) << good.sentence;
  // 79 %: worn out (common practice: below 80 %).
  EXPECT_FALSE(verdict_of({Celsius{25}, Millivolts{0}, Millivolts{-140.7}, Millivolts{0}}).serves);
  EXPECT_FALSE(verdict_of({Celsius{25}, Millivolts{0}, Millivolts{-178}, Millivolts{3}}).serves)
      << "3 mV are 0.05 pH";
  const ProbeVerdict same =
      verdict_of({Celsius{25}, Millivolts{0}, Millivolts{0.5}, Millivolts{0}});
  EXPECT_FALSE(same.serves);
  EXPECT_TRUE(contains(same.sentence, "can't be calibrated")) << same.sentence;
  EXPECT_FALSE(verdict_of({Celsius{70}, Millivolts{0}, Millivolts{-178}, Millivolts{0}}).serves);
}

// "pH steady: < 0.5 mV/min for 60 s, 5 min at most"; 0.5 mV is 0.0085 pH, and a probe shows 0.01.
TEST(ProbeCheck, is_steady_after_a_minute_within_a_hundredth) {
  Steadiness shown;
  EXPECT_FALSE(shown.steady());
  EXPECT_FALSE(shown.moved());
  for (int second = 0; second <= 60; ++second) {
    EXPECT_FALSE(shown.steady()) << second;
    shown.take(kStart + second * 1s, Ph{second % 2 == 0 ? 7.00 : 7.01});
  }
  EXPECT_TRUE(shown.steady());
  shown.take(kStart + 61s, Ph{7.02});
  EXPECT_FALSE(shown.steady());
  EXPECT_FALSE(shown.given_up());
}

TEST(ProbeCheck, that_never_stands_still_is_given_up_after_five_minutes) {
  Steadiness shown;
  for (int second = 0; second <= 300; second += 10) {
    shown.take(kStart + second * 1s, Ph{7.00 + 0.001 * second});
    EXPECT_FALSE(shown.steady()) << second;
    EXPECT_FALSE(shown.given_up()) << second;
  }
  shown.take(kStart + 301s, Ph{7.40});
  EXPECT_TRUE(shown.given_up());
}

TEST(ProbeCheck, looks_seldom_and_sees_the_same) {
  Steadiness shown;
  shown.take(kStart, Ph{7.30});
  shown.take(kStart + 200s, Ph{7.00});
  EXPECT_FALSE(shown.steady());
  shown.take(kStart + 400s, Ph{7.00});
  EXPECT_TRUE(shown.steady());
  shown.take(kStart + 400s, Ph{7.50});
  EXPECT_TRUE(shown.steady()) << "two of one time are one";
}

}  // namespace
}  // namespace limegate::care
