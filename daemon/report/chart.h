#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "report/axis.h"
#include "report/markup.h"

namespace limegate::report {

/// What is known of one step along x: absent where nothing is.
struct Step {
  double x = 0.0;
  std::optional<double> low, mean, high;
};

/// At most so many steps, of which each has the lowest, the mean and the highest of those that
/// became it: a spike is never lost.
[[nodiscard]] std::vector<Step> merged(const std::vector<Step>& steps, std::size_t most);

/// How it is drawn: what it is all about, what it is compared with, or a limit.
enum class Look { first, second, limit };

/// A chart over one axis of x. Whatever is in it is told apart by shape and by a name, and never by
/// its colour alone.
struct Chart {
  /// From the lowest to the highest of each step, and a line of the means.
  struct Band {
    std::string name;
    Look look = Look::first;
    std::vector<Step> steps;
  };
  struct Point {
    double x = 0.0;
    std::optional<double> y;
  };
  struct Line {
    std::string name;
    Look look = Look::second;
    std::vector<Point> points;
  };
  struct Bar {
    double from = 0.0, to = 0.0, value = 0.0;
  };
  struct Bars {
    std::string name;
    std::vector<Bar> bars;
  };
  /// Shaded from top to bottom.
  struct Span {
    double from = 0.0, to = 0.0;
  };
  struct Spans {
    std::string name;
    std::vector<Span> spans;
  };

  std::string title;  ///< with the unit
  Axis x;
  std::vector<Band> bands = {};
  std::vector<Line> lines = {};
  std::optional<Bars> bars = {};    ///< from zero, so zero is on the axis
  std::optional<Spans> spans = {};  ///< behind all
  double least_height = 0.0;        ///< of the axis of values: less is not blown up
};

/// A line across the whole chart.
[[nodiscard]] Chart::Line level(const std::string& name, double value, const Axis& x);

/// A figure with its names and an SVG, which a page draws by its style.
[[nodiscard]] Markup figure(const Chart& chart);

/// Spans of one thing on a line, for a cell of a table. `share` = how high, 0 to 1.
struct StripSpan {
  double from = 0.0, to = 0.0, share = 1.0;
};
[[nodiscard]] Markup strip(const Axis& x, const std::vector<StripSpan>& spans,
                           const std::string& name);

}  // namespace limegate::report
