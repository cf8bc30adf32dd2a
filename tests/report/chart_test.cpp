// Charts against paths that were worked out by hand: the picture is 720 x 150, its plot from 44 to
// 710 and from 6 to 130.

#include "report/chart.h"

#include <limits>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

namespace limegate::report {
namespace {

using testing::HasSubstr;
using testing::Not;

const Axis kTen{0.0, 10.0, {{0.0, "begin"}, {10.0, "end"}}};

Chart with(const std::vector<Step>& steps) {
  Chart chart{"pH", kTen};
  chart.bands.push_back({"range", Look::first, steps});
  return chart;
}

TEST(Band, goes_along_its_highest_and_back_along_its_lowest) {
  const std::string svg = figure(with({{0, 0.0, 0.5, 1.0}, {10, 0.0, 0.5, 0.8}})).xml;
  EXPECT_THAT(svg,
              HasSubstr("class=\"band first\" d=\"M44.0,6.0L710.0,30.8L710.0,130.0L44.0,130.0Z\""));
  EXPECT_THAT(svg, HasSubstr("class=\"line first\" d=\"M44.0,68.0L710.0,68.0\""));
}

TEST(Band, has_a_gap_where_nothing_is_known) {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  const std::string svg =
      figure(with({{0, 0.0, 0.0, 1.0}, {2, {}, {}, {}}, {4, nan, nan, nan}, {6, 0.0, 0.0, 1.0}}))
          .xml;
  EXPECT_THAT(svg, HasSubstr("d=\"M44.0,6.0L44.0,130.0ZM443.6,6.0L443.6,130.0Z\""));
  EXPECT_THAT(svg, HasSubstr("d=\"M44.0,130.0L44.0,130.0M443.6,130.0L443.6,130.0\"")) << "dots";
  EXPECT_THAT(svg, Not(HasSubstr("nan")));
}

TEST(Chart, bars_stand_on_zero_and_marks_have_words) {
  Chart chart{"mL", kTen};
  chart.bars = Chart::Bars{"given", {{0, 5, 400}, {5, 10, 1000}}};
  chart.lines.push_back(level("planned", 500, kTen));
  const std::string svg = figure(chart).xml;
  EXPECT_THAT(svg,
              HasSubstr("class=\"bar\" x=\"44.0\" y=\"80.4\" width=\"333.0\" height=\"49.6\""));
  EXPECT_THAT(svg,
              HasSubstr("class=\"bar\" x=\"377.0\" y=\"6.0\" width=\"333.0\" height=\"124.0\""));
  EXPECT_THAT(svg, HasSubstr("class=\"line limit\" d=\"M44.0,68.0L710.0,68.0\""));
  EXPECT_THAT(svg, HasSubstr(">begin</text>"));
  EXPECT_THAT(svg, HasSubstr(">1000</text>"));
  EXPECT_THAT(svg, HasSubstr("</svg>planned</span>"));
}

TEST(Chart, of_nothing_is_empty_and_not_broken) {
  const std::string svg = figure(Chart{"nothing", kTen}).xml;
  EXPECT_THAT(svg, HasSubstr("aria-label=\"nothing\""));
  EXPECT_THAT(svg, Not(HasSubstr("nan")));
  EXPECT_THAT(svg, Not(HasSubstr("inf")));
}

TEST(Chart, does_not_blow_up_what_hardly_moves) {
  Chart chart = with({{0, 8.20, 8.20, 8.20}, {10, 8.21, 8.21, 8.21}});
  chart.least_height = 0.1;
  EXPECT_THAT(figure(chart).xml, HasSubstr(">8.25</text>"));
}

TEST(Chart, shades_what_went_wrong_even_if_it_was_short) {
  Chart chart{"pH", kTen};
  chart.spans = Chart::Spans{"a fault", {{2.0, 2.0}, {5.0, 20.0}}};
  const std::string svg = figure(chart).xml;
  EXPECT_THAT(svg, HasSubstr("x=\"177.2\" y=\"6.0\" width=\"0.8\" height=\"124.0\""));
  EXPECT_THAT(svg, HasSubstr("x=\"377.0\" y=\"6.0\" width=\"333.0\""))
      << "no further than the chart";
}

TEST(Chart, escapes_its_names) {
  Chart chart{"<pH> & \"x\"", kTen};
  chart.lines.push_back(level("</svg>", 1.0, kTen));
  const std::string svg = figure(chart).xml;
  EXPECT_THAT(svg, HasSubstr("aria-label=\"&lt;pH&gt; &amp; &quot;x&quot;\""));
  EXPECT_THAT(svg, HasSubstr("&lt;/svg&gt;"));
}

TEST(Strip, shows_each_span_as_high_as_its_share) {
  const std::string svg = strip(kTen, {{0, 5, 1.0}, {5, 10, 0.25}, {-5, 0.0, 1.0}}, "settling").xml;
  EXPECT_THAT(svg,
              HasSubstr("d=\"M0.0,12V0.0H150.0V12ZM150.0,12V9.0H300.0V12ZM0.0,12V0.0H0.8V12Z\""));
  EXPECT_THAT(svg, HasSubstr("aria-label=\"settling\""));
}

TEST(Merged, keeps_the_lowest_and_the_highest_and_the_mean) {
  const auto fewer = merged({{0, 1, 2, 3}, {1, 0, 4, 9}, {2, {}, {}, {}}, {3, 5, 6, 7}}, 2);
  ASSERT_EQ(fewer.size(), 2U);
  EXPECT_EQ(fewer[0].low, 0.0);
  EXPECT_EQ(fewer[0].mean, 3.0);
  EXPECT_EQ(fewer[0].high, 9.0);
  EXPECT_EQ(fewer[0].x, 0.5);
  EXPECT_EQ(fewer[1].low, 5.0);
  EXPECT_FALSE(merged({{0, {}, {}, {}}, {1, {}, {}, {}}}, 1)[0].low);
}

// PAGE.md, section 2: other ways to draw less lost one of two near spikes.
RC_GTEST_PROP(MergedProperty, no_spike_is_lost, (const std::vector<int>& values)) {
  std::vector<Step> steps;
  steps.reserve(values.size());
  for (const int value : values) {
    steps.push_back(
        {static_cast<double>(steps.size()), double(value), double(value), double(value)});
  }
  const auto fewer = merged(steps, 7);
  RC_ASSERT(fewer.size() <= 7U);
  std::size_t first = 0;
  const std::size_t each = (steps.size() + 6) / 7;
  for (const Step& step : fewer) {
    const auto end = std::min(first + each, values.size());
    const auto [low, high] =
        std::minmax_element(values.begin() + long(first), values.begin() + long(end));
    RC_ASSERT(step.low == std::optional<double>(*low));
    RC_ASSERT(step.high == std::optional<double>(*high));
    first = end;
  }
  RC_ASSERT(first == values.size());
}

}  // namespace
}  // namespace limegate::report
