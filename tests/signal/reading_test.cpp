#include "signal/reading.h"

#include <ostream>
#include <set>
#include <string>

#include <gtest/gtest.h>

namespace limegate::signal {
namespace {

/// NAMUR NE 107 (2017-04-10): failure = no valid signal; function check = temporarily not valid;
/// out of specification = outside its permitted range. Which reason is which is our own reading.
struct Case {
  const char* name;
  Reason reason;
  ProbeStatus status;
};
void PrintTo(const Case& row, std::ostream* out) { *out << row.name; }
class StatusTable : public testing::TestWithParam<Case> {};

TEST_P(StatusTable, goes_with_the_reason) {
  Reading reading;
  reading.reason = GetParam().reason;
  EXPECT_STREQ(name_of(status_of(reading)), name_of(GetParam().status));
  EXPECT_STREQ(name_of(reading.reason), GetParam().name);
}

const Case kCases[] = {
    {"none", Reason::none, ProbeStatus::good},
    {"missing", Reason::missing, ProbeStatus::failure},
    {"no-communication", Reason::no_communication, ProbeStatus::failure},
    {"stale", Reason::stale, ProbeStatus::failure},
    {"not-a-number", Reason::not_a_number, ProbeStatus::failure},
    {"implausible", Reason::implausible, ProbeStatus::out_of_specification},
    {"stuck", Reason::stuck, ProbeStatus::failure},
    {"unsteady", Reason::unsteady, ProbeStatus::function_check},
};
INSTANTIATE_TEST_SUITE_P(, StatusTable, testing::ValuesIn(kCases));

TEST(Reading, nothing_is_known_of_one_that_was_never_made) {
  EXPECT_EQ(Reading{}.quality, Quality::bad);
  EXPECT_EQ(Reading{}.reason, Reason::missing);
}

TEST(Reading, names_are_unique) {
  const std::set<std::string> qualities{name_of(Quality::good), name_of(Quality::uncertain),
                                        name_of(Quality::bad)};
  EXPECT_EQ(qualities.size(), 3U);
  const std::set<std::string> statuses{
      name_of(ProbeStatus::good), name_of(ProbeStatus::maintenance_required),
      name_of(ProbeStatus::out_of_specification), name_of(ProbeStatus::function_check),
      name_of(ProbeStatus::failure)};
  EXPECT_EQ(statuses.size(), 5U);
}

}  // namespace
}  // namespace limegate::signal
