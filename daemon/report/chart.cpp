#include "report/chart.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include <fmt/format.h>

namespace limegate::report {
namespace {

// The picture in its own units: about a pixel each on a screen.
constexpr double kWidth = 720.0, kHeight = 150.0;
constexpr double kLeft = 44.0, kRight = 10.0, kTop = 6.0, kBottom = 20.0;
constexpr int kValueSteps = 5;
constexpr std::size_t kStepsMost = 700;  ///< a band has no more than the picture can show
constexpr double kStripWidth = 300.0, kStripHeight = 12.0;
/// As narrow as a line can be seen.
constexpr double kLeastWidth = 0.75;

const char* class_of(Look look) {
  return look == Look::first ? "first" : look == Look::second ? "second" : "limit";
}

/// Where values lie in the picture.
struct Place {
  const Axis& x;
  const Axis& y;
  [[nodiscard]] double right(double value) const {
    return kLeft + std::clamp(x.share(value), 0.0, 1.0) * (kWidth - kLeft - kRight);
  }
  [[nodiscard]] double down(double value) const {
    return kTop + (1.0 - std::clamp(y.share(value), 0.0, 1.0)) * (kHeight - kTop - kBottom);
  }
  [[nodiscard]] std::string at(double along, double value) const {
    return fmt::format("{:.1f},{:.1f}", right(along), down(value));
  }
};

/// A value that can be drawn.
bool known(const std::optional<double>& value) { return value && std::isfinite(*value); }
bool known(const Step& step) { return known(step.low) && known(step.high); }

class Range {
 public:
  void take(const std::optional<double>& value) {
    if (known(value)) {
      low_ = std::min(low_, *value);
      high_ = std::max(high_, *value);
    }
  }
  [[nodiscard]] Axis axis(double least_height) const {
    const double more = std::max(0.0, least_height - (high_ - low_)) / 2.0;
    return value_axis(low_ - more, high_ + more, kValueSteps);
  }

 private:
  double low_ = std::numeric_limits<double>::infinity(), high_ = -low_;
};

Axis values_of(const Chart& chart) {
  Range range;
  for (const Chart::Band& band : chart.bands) {
    for (const Step& step : band.steps) {
      range.take(step.low);
      range.take(step.high);
    }
  }
  for (const Chart::Line& line : chart.lines) {
    for (const Chart::Point& point : line.points) {
      range.take(point.y);
    }
  }
  if (chart.bars) {
    range.take(0.0);
    for (const Chart::Bar& bar : chart.bars->bars) {
      range.take(bar.value);
    }
  }
  return range.axis(chart.least_height);
}

std::string path(const char* shape, Look look, const std::string& data) {
  return data.empty()
             ? data
             : fmt::format("<path class=\"{} {}\" d=\"{}\"/>\n", shape, class_of(look), data);
}

/// A line through what is known; where nothing is, there is a gap.
std::string line_data(const std::vector<Chart::Point>& points, const Place& place) {
  std::string data;
  for (std::size_t i = 0; i < points.size(); ++i) {
    if (!known(points[i].y)) {
      continue;
    }
    const bool begins = i == 0 || !known(points[i - 1].y);
    const bool alone = begins && (i + 1 == points.size() || !known(points[i + 1].y));
    const std::string at = place.at(points[i].x, *points[i].y);
    data += fmt::format("{}{}", begins ? "M" : "L", at);
    data += alone ? fmt::format("L{}", at) : "";  // a dot
  }
  return data;
}

/// A shape for each run of steps that are known: there along the highest, back along the lowest.
std::string band_data(const std::vector<Step>& steps, const Place& place) {
  std::string data;
  for (std::size_t first = 0; first < steps.size(); ++first) {
    if (!known(steps[first])) {
      continue;
    }
    std::size_t end = first;
    for (; end < steps.size() && known(steps[end]); ++end) {
      data +=
          fmt::format("{}{}", end == first ? "M" : "L", place.at(steps[end].x, *steps[end].high));
    }
    for (std::size_t i = end; i > first; --i) {
      data += fmt::format("L{}", place.at(steps[i - 1].x, *steps[i - 1].low));
    }
    data += "Z";
    first = end;
  }
  return data;
}

std::string drawn(const Chart::Band& band, const Place& place) {
  const std::vector<Step> steps = merged(band.steps, kStepsMost);
  std::vector<Chart::Point> means;
  means.reserve(steps.size());
  for (const Step& step : steps) {
    means.push_back({step.x, step.mean});
  }
  return path("band", band.look, band_data(steps, place)) +
         path("line", band.look, line_data(means, place));
}

std::string box(const char* kind, const Place& place, const Chart::Span& span, double top,
                double bottom) {
  const double left = place.right(span.from);
  return fmt::format(
      "<rect class=\"{}\" x=\"{:.1f}\" y=\"{:.1f}\" width=\"{:.1f}\" height=\"{:.1f}\"/>\n", kind,
      left, top, std::max(place.right(span.to) - left, kLeastWidth), std::max(bottom - top, 0.0));
}

std::string grid(const Place& place) {
  std::string out;
  for (const Axis::Tick& tick : place.y.ticks) {
    const double y = place.down(tick.at);
    out += fmt::format(
        "<path class=\"grid\" d=\"M{:.1f},{:.1f}H{:.1f}\"/>"
        "<text class=\"end\" x=\"{:.1f}\" y=\"{:.1f}\">{}</text>\n",
        kLeft, y, kWidth - kRight, kLeft - 4.0, y + 4.0, text(tick.words).xml);
  }
  for (const Axis::Tick& tick : place.x.ticks) {
    const double x = place.right(tick.at);
    out += fmt::format(
        "<path class=\"grid\" d=\"M{0:.1f},{1:.1f}v4\"/>"
        "<text class=\"{3}\" x=\"{0:.1f}\" y=\"{2:.1f}\">{4}</text>\n",
        x, kHeight - kBottom, kHeight - 4.0, x > kWidth - 40.0 ? "end" : "middle",
        text(tick.words).xml);
  }
  return out;
}

/// What a name stands for, as it is drawn.
std::string key(const std::string& shape, const std::string& name) {
  return fmt::format(
      "<span class=\"name\"><svg class=\"key\" viewBox=\"0 0 24 10\" aria-hidden=\"true\">{}</svg>"
      "{}</span> ",
      shape, text(name).xml);
}
std::string key(const char* shape, Look look, const std::string& name) {
  const bool line = std::string{shape} == "line";
  return key(path(shape, look, line ? "M1,5H23" : "M1,1H23V9H1Z"), name);
}

std::string keys(const Chart& chart) {
  std::string out;
  for (const Chart::Band& band : chart.bands) {
    out += key("band", band.look, band.name);
  }
  if (chart.bars) {
    out += key("<rect class=\"bar\" x=\"1\" y=\"1\" width=\"22\" height=\"8\"/>", chart.bars->name);
  }
  for (const Chart::Line& line : chart.lines) {
    out += key("line", line.look, line.name);
  }
  if (chart.spans && !chart.spans->spans.empty()) {
    out +=
        key("<rect class=\"span\" x=\"1\" y=\"0\" width=\"22\" height=\"10\"/>", chart.spans->name);
  }
  return out;
}

/// Adds what is known of one step to what others came to.
class Merging {
 public:
  void take(const Step& step) {
    low_.take_low(step.low);
    high_.take_high(step.high);
    if (known(step.mean)) {
      sum_ += *step.mean;
      ++means_;
    }
    from_ = std::min(from_, step.x);
    to_ = std::max(to_, step.x);
  }
  [[nodiscard]] Step step() const {
    Step one{(from_ + to_) / 2.0, low_.value, {}, high_.value};
    if (means_ > 0) {
      one.mean = sum_ / means_;
    }
    return one;
  }

 private:
  struct Extreme {
    std::optional<double> value;
    void take_low(const std::optional<double>& other) {
      value = known(other) ? std::min(value.value_or(*other), *other) : value;
    }
    void take_high(const std::optional<double>& other) {
      value = known(other) ? std::max(value.value_or(*other), *other) : value;
    }
  };
  Extreme low_, high_;
  double sum_ = 0.0, means_ = 0.0;
  double from_ = std::numeric_limits<double>::infinity(), to_ = -from_;
};

}  // namespace

std::vector<Step> merged(const std::vector<Step>& steps, std::size_t most) {
  const std::size_t each = most == 0 ? 1 : (steps.size() + most - 1) / most;
  if (each <= 1) {
    return steps;
  }
  std::vector<Step> fewer;
  fewer.reserve(most);
  for (std::size_t first = 0; first < steps.size(); first += each) {
    Merging one;
    for (std::size_t i = first; i < std::min(first + each, steps.size()); ++i) {
      one.take(steps[i]);
    }
    fewer.push_back(one.step());
  }
  return fewer;
}

Chart::Line level(const std::string& name, double value, const Axis& x) {
  return {name, Look::limit, {{x.from, value}, {x.to, value}}};
}

Markup figure(const Chart& chart) {
  const Axis values = values_of(chart);
  const Place place{chart.x, values};
  std::string shapes;
  if (chart.spans) {
    for (const Chart::Span& span : chart.spans->spans) {
      shapes += box("span", place, span, kTop, kHeight - kBottom);
    }
  }
  shapes += grid(place);
  if (chart.bars) {
    for (const Chart::Bar& bar : chart.bars->bars) {
      shapes += std::isfinite(bar.value)
                    ? box("bar", place, {bar.from, bar.to}, place.down(std::max(bar.value, 0.0)),
                          place.down(std::min(bar.value, 0.0)))
                    : "";
    }
  }
  for (const Chart::Band& band : chart.bands) {
    shapes += drawn(band, place);
  }
  for (const Chart::Line& line : chart.lines) {
    shapes += path("line", line.look, line_data(line.points, place));
  }
  return {fmt::format(
      "<figure><figcaption><strong>{0}</strong> {1}</figcaption>\n"
      "<div class=\"wide\"><svg viewBox=\"0 0 {2} {3}\" role=\"img\" aria-label=\"{0}\">\n"
      "{4}</svg></div></figure>\n",
      text(chart.title).xml, keys(chart), kWidth, kHeight, shapes)};
}

Markup strip(const Axis& x, const std::vector<StripSpan>& spans, const std::string& name) {
  std::string data;
  for (const StripSpan& span : spans) {
    const double left = std::clamp(x.share(span.from), 0.0, 1.0) * kStripWidth;
    const double right = std::clamp(x.share(span.to), 0.0, 1.0) * kStripWidth;
    const double height = std::clamp(span.share, 0.0, 1.0) * kStripHeight;
    data += fmt::format("M{:.1f},{:.0f}V{:.1f}H{:.1f}V{:.0f}Z", left, kStripHeight,
                        kStripHeight - height, std::max(right, left + kLeastWidth), kStripHeight);
  }
  return {fmt::format(
      "<svg class=\"strip\" viewBox=\"0 0 {} {}\" preserveAspectRatio=\"none\" role=\"img\" "
      "aria-label=\"{}\"><path class=\"bar\" d=\"{}\"/></svg>",
      kStripWidth, kStripHeight, text(name).xml, data)};
}

}  // namespace limegate::report
