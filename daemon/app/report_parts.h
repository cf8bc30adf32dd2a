#pragma once

#include <span>
#include <string_view>

namespace limegate::app {

/// The parts of a report that are no data, built into the program: Debian's dygraphs with its
/// licence notice, and our own style and script.
[[nodiscard]] std::span<const std::string_view> report_charts_js();  ///< to be put together
[[nodiscard]] std::string_view report_charts_css();
[[nodiscard]] std::string_view report_css();
[[nodiscard]] std::string_view report_js();

}  // namespace limegate::app
