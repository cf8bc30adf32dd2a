#include "units/rfc3339.h"

#include <chrono>
#include <string>

#include <gtest/gtest.h>

#include "units/iso8601.h"

namespace limegate {
namespace {

std::string read(std::string_view text) {
  const auto time = parse_rfc3339(text);
  return time ? iso8601(*time) : "none";
}

// Forms of RFC 3339, sections 5.6 and 5.8, with years that a station may have.
TEST(Rfc3339, reads_every_form_of_the_standard) {
  EXPECT_EQ(read("2026-04-12T23:20:50Z"), "2026-04-12T23:20:50Z");
  EXPECT_EQ(read("2026-12-19T16:39:57-08:00"), "2026-12-20T00:39:57Z");
  EXPECT_EQ(read("2026-11-01T00:30:00+01:00"), "2026-10-31T23:30:00Z");
  EXPECT_EQ(read("2026-01-01 12:00:27.87+00:20"), "2026-01-01T11:40:27Z");
  EXPECT_EQ(read("2026-04-12t23:20:50z"), "2026-04-12T23:20:50Z");
  EXPECT_EQ(read("2016-12-31T23:59:60Z"), "2017-01-01T00:00:00Z");  // a leap second
  EXPECT_EQ(read("2028-02-29T00:00:00Z"), "2028-02-29T00:00:00Z");
  EXPECT_EQ(*parse_rfc3339("2026-04-12T23:20:50.52Z") - *parse_rfc3339("2026-04-12T23:20:50Z"),
            std::chrono::milliseconds{520});
}

TEST(Rfc3339, refuses_what_is_no_moment) {
  for (const char* text : {"",
                           "2026-04-12",
                           "2026-04-12T23:20:50",
                           "2026-04-12T23:20Z",
                           "2026-02-29T00:00:00Z",
                           "2026-13-01T00:00:00Z",
                           "2026-00-01T00:00:00Z",
                           "2026-04-31T00:00:00Z",
                           "2026-04-12T24:00:00Z",
                           "2026-04-12T23:60:00Z",
                           "2026-04-12T23:20:61Z",
                           "2026-04-12T23:20:50.Z",
                           "2026-04-12T23:20:50Z ",
                           "12.04.2026 23:20",
                           "26-04-12T23:20:50Z",
                           "2026-04-12T23:20:50+24:00",
                           "2026-04-12T23:20:50+01",
                           "1999-12-31T23:59:59Z",
                           "2200-01-01T00:00:00Z",
                           "-026-04-12T23:20:50Z",
                           "2026-04-12T23:20:5\xC3\xA9Z"}) {
    EXPECT_FALSE(parse_rfc3339(text)) << text;
  }
}

}  // namespace
}  // namespace limegate
