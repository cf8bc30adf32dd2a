// How often each kind of event was told, over restarts and the end of old events.

#include "journal/counts.h"

#include <gtest/gtest.h>

#include "journal/readings.h"
#include "journal/scratch.h"

namespace limegate::journal {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

const WallTime kBegun{490000h};

class CountsTest : public Scratch {
 protected:
  CountsTest() { files = {(folder / "readings.sqlite").string(), path}; }
  [[nodiscard]] Readings open(WallTime now = kBegun) const {
    auto readings = Readings::open(files.readings, now);
    EXPECT_TRUE(readings) << readings.error().text();
    return std::move(*readings);
  }
  static std::pair<std::string, station::Event> event(const std::string& code,
                                                      const std::string& about = {}) {
    return {"reef", {kBegun, station::Severity::info, code, "It was so.", {}, {}, {}, about}};
  }
  [[nodiscard]] std::int64_t times(const std::string& code, const std::string& about = {}) const {
    const auto counts = read_counts(files);
    EXPECT_TRUE(counts) << counts.error().text();
    std::int64_t found = 0;
    for (const Counts::Count& one : counts ? counts->all : std::vector<Counts::Count>{}) {
      found += one.code == code && one.about == about ? one.times : 0;
    }
    return found;
  }
  RecordFiles files;
};

TEST_F(CountsTest, go_on_over_a_restart) {
  ASSERT_TRUE(open().append({}, {event("pulse-given"), event("pulse-given")}));
  ASSERT_TRUE(open(kBegun + 24h).append({}, {event("pulse-given"), event("held-settling")}));
  EXPECT_EQ(times("pulse-given"), 3);
  EXPECT_EQ(times("held-settling"), 1);
  EXPECT_EQ(read_counts(files)->since, kBegun);
}

TEST_F(CountsTest, are_told_apart_by_the_bus) {
  ASSERT_TRUE(open().append({}, {event("probe-fault", "panel"), event("probe-fault", "shelf"),
                                 event("probe-fault", "panel")}));
  EXPECT_EQ(times("probe-fault", "panel"), 2);
  EXPECT_EQ(times("probe-fault", "shelf"), 1);
}

TEST_F(CountsTest, stay_when_the_events_are_too_old) {
  Readings readings = open();
  ASSERT_TRUE(readings.append({}, {event("pulse-given")}));
  ASSERT_TRUE(readings.thin_out(kBegun + 24h * 800, {}));
  EXPECT_EQ(times("pulse-given"), 1);
}

TEST_F(CountsTest, say_when_they_began_anew_after_the_record_was_lost) {
  ASSERT_TRUE(open().append({}, {event("pulse-given")}));
  Readings::set_aside(files.readings, kBegun + 1h);
  ASSERT_TRUE(open(kBegun + 2h).append({}, {}));
  EXPECT_EQ(times("pulse-given"), 0);
  EXPECT_EQ(read_counts(files)->since, kBegun + 2h);
}

TEST_F(CountsTest, a_batch_that_is_not_written_counts_nothing) {
  Readings readings = open();
  ASSERT_TRUE(readings.append({}, {event("pulse-given")}));
  const auto other = Database::open(files.readings, Creating::no, Sync::normal);
  ASSERT_TRUE(other->execute("DROP TABLE events"));
  EXPECT_FALSE(readings.append({}, {event("pulse-given")}));
  EXPECT_EQ(times("pulse-given"), 1);
}

TEST_F(CountsTest, a_record_that_is_not_there_is_an_error_and_is_not_begun) {
  EXPECT_FALSE(read_counts(files));
  EXPECT_FALSE(std::filesystem::exists(files.readings));
}

}  // namespace
}  // namespace limegate::journal
