// What a keeper is told of the water's temperature: it holds nothing. A reef likes 22 to 29 degC
// (common practice).

#include <chrono>

#include <gtest/gtest.h>

#include "station/bench.h"

namespace limegate::station {
namespace {

using namespace std::chrono_literals;

TEST(UnusualTemperature, is_told_once_and_again_when_it_is_over) {
  Bench bench;
  bench.run(10min);
  const auto is = [&](double temperature) {
    bench.temperature = temperature;
    bench.run(10min);  // it is steady again; every other minute it shows 0.1 more
  };
  is(28.9);
  EXPECT_EQ(bench.raised("temperature-unusual"), 0U) << "usual to both ends";
  is(29.0);
  EXPECT_EQ(bench.raised("temperature-unusual"), 1U);
  EXPECT_EQ(bench.newest_event("temperature-unusual").severity, Severity::alert);
  is(28.6);
  is(29.2);
  EXPECT_EQ(bench.raised("temperature-usual"), 0U) << "half a degree keeps it from fluttering";
  EXPECT_EQ(bench.raised("temperature-unusual"), 1U);
  is(28.4);
  EXPECT_EQ(bench.raised("temperature-usual"), 1U);
  is(21.9);
  EXPECT_EQ(bench.raised("temperature-unusual"), 2U);
  is(22.3);
  EXPECT_EQ(bench.raised("temperature-usual"), 1U);
  is(22.5);
  EXPECT_EQ(bench.raised("temperature-usual"), 2U);
}

TEST(UnusualTemperature, of_a_probe_that_cannot_be_believed_is_no_news) {
  Bench bench;
  bench.run(10min);
  bench.temperature = 3.0;  // implausible
  bench.run(1h);
  EXPECT_EQ(bench.raised("temperature-unusual"), 0U);
  EXPECT_TRUE(bench.held_for("temperature-implausible"));
}

}  // namespace
}  // namespace limegate::station
