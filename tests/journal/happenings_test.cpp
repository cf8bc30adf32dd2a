// What was told of a station, as an axis and a list want it.

#include "journal/happenings.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "journal/readings.h"
#include "journal/scratch.h"

namespace limegate::journal {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using station::Severity;
using testing::ElementsAre;
using testing::Field;

const WallTime kTen{490000h};

class HappeningsTest : public Scratch {
 protected:
  void tell(WallTime at, const std::string& code, const std::string& station = "reef",
            Severity severity = Severity::info) {
    told_.push_back({station, {at, severity, code, "It is " + code + "."}});
  }
  void write() {
    auto readings = Readings::open(path, boot.now.wall);
    ASSERT_TRUE(readings);
    ASSERT_TRUE(readings->append({}, told_));
    told_.clear();
  }
  [[nodiscard]] Happenings read(Duration span = 24h, WallTime until = kTen,
                                const std::string& station = "reef") {
    write();
    const auto read = read_happenings(path, {station, until - span, until});
    EXPECT_TRUE(read) << read.error().text();
    return read.value_or(Happenings{});
  }

 private:
  std::vector<std::pair<std::string, station::Event>> told_;
};

TEST_F(HappeningsTest, events_are_those_of_the_station_and_the_span_newest_first) {
  tell(kTen - 24h - 1s, "too-old");
  tell(kTen - 24h, "first");
  tell(kTen - 1h, "of-another", "nano");
  tell(kTen - 1h, "an-alert", "reef", Severity::alert);
  tell(kTen, "last", "reef", Severity::warning);
  tell(kTen + 1s, "too-new");
  const Happenings day = read();
  using Told = Happenings::Told;
  EXPECT_THAT(day.events, ElementsAre(Field(&Told::code, "last"), Field(&Told::code, "an-alert"),
                                      Field(&Told::code, "first")));
  EXPECT_EQ(day.events[1].severity, Severity::alert);
  EXPECT_EQ(day.events[1].sentence, "It is an-alert.");
  EXPECT_EQ(day.events[1].at, kTen - 1h);
  EXPECT_FALSE(day.older_events);
  EXPECT_EQ(read(24h, kTen, "").events.size(), 0U) << "the daemon itself is nobody's station";
}

TEST_F(HappeningsTest, more_than_fit_are_said_to_be_there) {
  for (std::size_t i = 0; i <= kEventsMost; ++i) {
    tell(kTen - 1h + std::chrono::seconds{i}, "one");
  }
  const Happenings hour = read(1h);
  EXPECT_EQ(hour.events.size(), kEventsMost);
  EXPECT_TRUE(hour.older_events);
  EXPECT_EQ(hour.events.back().at, kTen - 1h + 1s);
  EXPECT_FALSE(read(1h, hour.events.back().at).older_events);
}

TEST_F(HappeningsTest, a_hold_stands_from_when_it_was_told_until_it_cleared) {
  tell(kTen - 3h, "held-settling");
  tell(kTen - 2h, "cleared-settling");
  tell(kTen - 1h, "held-ph-high");
  const Happenings day = read();
  ASSERT_EQ(day.holds.size(), 2U);
  EXPECT_EQ(day.holds[0].code, "settling");
  EXPECT_EQ(day.holds[0].sentence, "It is held-settling.");
  EXPECT_EQ(day.holds[0].since, kTen - 3h);
  EXPECT_EQ(day.holds[0].until, kTen - 2h);
  EXPECT_EQ(day.holds[1].code, "ph-high");
  EXPECT_FALSE(day.holds[1].until) << "it stands";
}

TEST_F(HappeningsTest, what_began_before_the_span_keeps_its_begin) {
  tell(kTen - 72h, "held-ph-high");
  tell(kTen - 71h, "held-settling");
  tell(kTen - 70h, "cleared-settling");
  tell(kTen - 1h, "cleared-ph-high");
  const Happenings day = read();
  ASSERT_EQ(day.holds.size(), 1U) << "and what ended before it is not of it";
  EXPECT_EQ(day.holds[0].since, kTen - 72h);
  EXPECT_EQ(day.holds[0].until, kTen - 1h);
}

TEST_F(HappeningsTest, a_start_ends_what_stood) {
  tell(kTen - 5h, "held-ph-missing");
  tell(kTen - 5h, "held-settling");
  tell(kTen - 3h, "started", "");
  tell(kTen - 3h, "held-settling");
  tell(kTen - 2h, "cleared-settling");
  const Happenings day = read();
  ASSERT_EQ(day.holds.size(), 3U);
  EXPECT_EQ(day.holds[0].until, kTen - 3h);
  EXPECT_EQ(day.holds[1].until, kTen - 3h);
  EXPECT_EQ(day.holds[2].code, "settling");
  EXPECT_EQ(day.holds[2].since, kTen - 3h);
}

TEST_F(HappeningsTest, a_clock_that_was_set_back_leaves_nothing_standing) {
  tell(kTen - 5h, "held-ph-missing");
  tell(kTen - 1h, "held-settling");
  tell(kTen - 4h, "started", "");
  tell(kTen - 3h, "held-settling");
  const Happenings day = read();
  ASSERT_EQ(day.holds.size(), 2U);
  EXPECT_EQ(day.holds[0].code, "ph-missing");
  EXPECT_EQ(day.holds[0].until, kTen - 4h);
  EXPECT_EQ(day.holds[1].since, kTen - 3h);
  EXPECT_FALSE(day.holds[1].until);
  EXPECT_EQ(day.short_holds, 1U) << "that one lasted from an hour that came later";
}

TEST_F(HappeningsTest, told_twice_it_is_one) {
  tell(kTen - 5h, "held-settling");
  tell(kTen - 4h, "held-settling");
  tell(kTen - 3h, "cleared-settling");
  tell(kTen - 2h, "cleared-settling");
  const Happenings day = read();
  ASSERT_EQ(day.holds.size(), 1U);
  EXPECT_EQ(day.holds[0].since, kTen - 5h);
  EXPECT_EQ(day.holds[0].until, kTen - 3h);
}

TEST_F(HappeningsTest, what_an_axis_has_no_room_for_is_counted) {
  tell(kTen - 5h, "held-settling");
  tell(kTen - 5h + 143s, "cleared-settling");  // a 600th of a day is 144 s
  tell(kTen - 4h, "held-settling");
  tell(kTen - 4h + 144s, "cleared-settling");
  const Happenings day = read();
  ASSERT_EQ(day.holds.size(), 1U);
  EXPECT_EQ(day.holds[0].since, kTen - 4h);
  EXPECT_EQ(day.short_holds, 1U);
}

TEST_F(HappeningsTest, of_too_many_the_longest_stay) {
  for (int i = 0; i < 501; ++i) {
    tell(kTen - 24h + std::chrono::seconds{170 * i}, "held-settling");
    tell(kTen - 24h + std::chrono::seconds{170 * i + (i == 250 ? 145 : 150)}, "cleared-settling");
  }
  const Happenings day = read();
  EXPECT_EQ(day.holds.size(), kHoldsMost);
  EXPECT_EQ(day.short_holds, 1U);
  for (std::size_t i = 1; i < day.holds.size(); ++i) {
    EXPECT_LT(day.holds[i - 1].since, day.holds[i].since);
    EXPECT_NE(day.holds[i].since, kTen - 24h + std::chrono::seconds{170 * 250});
  }
}

TEST_F(HappeningsTest, a_record_that_is_not_there_is_an_error_and_is_not_begun) {
  EXPECT_FALSE(read_happenings(path, {"reef", kTen - 1h, kTen}));
  EXPECT_FALSE(std::filesystem::exists(path));
}

}  // namespace
}  // namespace limegate::journal
