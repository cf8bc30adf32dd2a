// What stands on the broker of a station whose second probe goes bad.

#include <algorithm>
#include <optional>
#include <string>
#include <vector>

#include <gtest/gtest.h>

#include "mqtt/image.h"

namespace limegate::mqtt {
namespace {

std::optional<std::string> second_of(const station::Status& status) {
  const std::vector<Value> values = station_values(status);
  const auto found = std::find_if(values.begin(), values.end(), [](const Value& value) {
    return value.node == std::string_view{"ph"} && value.property == "second";
  });
  return found == values.end() ? std::nullopt : found->payload;
}

TEST(StationImage, shows_no_value_of_a_second_probe_that_is_bad) {
  station::Status status;
  status.station = "reef";
  status.ph.value = 8.2;
  status.ph.quality = signal::Quality::good;
  status.ph.reason = signal::Reason::none;
  status.second_ph = status.ph;
  EXPECT_NE(second_of(status), "");
  status.second_ph->quality = signal::Quality::bad;
  status.second_ph->reason = signal::Reason::stale;
  EXPECT_EQ(second_of(status), "") << "what it showed last would pass for good";
}

}  // namespace
}  // namespace limegate::mqtt
