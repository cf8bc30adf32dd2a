// When the machine's clock is believed.

#include "app/clock_trust.h"

#include <chrono>
#include <filesystem>
#include <string>

#include <gtest/gtest.h>

#include "app/world_bench.h"
#include "support/program.h"

namespace limegate::app {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

class Trust : public testing::Test {
 protected:
  [[nodiscard]] ClockTrust::Sources sources() const {
    return {"boot-7",
            folder_.path() + "/note",
            "",
            folder_.path() + "/synchronized",
            folder_.path(),
            ClockTrust::Sources::Kernel::not_asked};
  }
  [[nodiscard]] bool trusted(const ClockTrust::Sources& sources) const {
    return ClockTrust{sources}.trusted();
  }
  void rtc_says(std::chrono::seconds off) const {
    const auto now = std::chrono::duration_cast<std::chrono::seconds>(
        std::chrono::system_clock::now().time_since_epoch());
    std::filesystem::create_directory(folder_.path() + "/rtc0");
    test::write_file(folder_.path() + "/rtc0/since_epoch", std::to_string((now + off).count()));
  }

  test::TempDir folder_;
};

TEST_F(Trust, is_not_given_where_nobody_says_anything) { EXPECT_FALSE(trusted(sources())); }

TEST_F(Trust, is_given_to_a_time_service_that_has_synchronised) {
  test::write_file(sources().time_service, "");
  EXPECT_TRUE(trusted(sources()));
}

TEST_F(Trust, is_given_to_a_real_time_clock_that_the_file_names_and_that_agrees) {
  auto named = sources();
  named.rtc = "rtc0";
  EXPECT_FALSE(trusted(named)) << "there is none";
  rtc_says(0s);
  EXPECT_FALSE(trusted(sources())) << "not named";
  EXPECT_TRUE(trusted(named));
  rtc_says(110s);
  EXPECT_TRUE(trusted(named));
  rtc_says(-130s);
  EXPECT_FALSE(trusted(named));
  rtc_says(-9h);
  EXPECT_FALSE(trusted(named)) << "its battery is dead, or the clock was set to a saved time";
  test::write_file(folder_.path() + "/rtc0/since_epoch", "nonsense");
  EXPECT_FALSE(trusted(named));
}

TEST_F(Trust, is_given_to_a_persons_word_for_this_boot) {
  ASSERT_TRUE(ClockTrust::note_word(sources().note, "boot-6"));
  EXPECT_FALSE(trusted(sources()));
  ASSERT_TRUE(ClockTrust::note_word(sources().note, "boot-7"));
  EXPECT_TRUE(trusted(sources()));
  EXPECT_FALSE(ClockTrust::note_word(folder_.path() + "/nowhere/note", "boot-7"));
}

class UnsetClock : public test::WorldTest {
 protected:
  UnsetClock() : WorldTest({}) { bench_.clock().trust_wall(false); }
  void minutes(int count) {
    const Instant end = pace_.clock().now().mono + count * 60s;
    leap([&] { return pace_.clock().now().mono >= end; });
  }
};

TEST_F(UnsetClock, is_told_once_when_a_time_service_had_its_time_and_when_it_is_set) {
  minutes(9);
  EXPECT_EQ(told("clock-not-set"), 0);
  minutes(120);
  EXPECT_EQ(told("clock-not-set"), 1);
  ASSERT_EQ(world_->overview().alerts.size(), 1U);
  bench_.clock().trust_wall(true);
  minutes(1);
  EXPECT_EQ(told("clock-set"), 1);
  // Over, and nobody has seen it.
  ASSERT_EQ(world_->overview().alerts.size(), 1U);
  EXPECT_EQ(world_->overview().alerts[0].state, "returned-unacknowledged");
}

}  // namespace
}  // namespace limegate::app
