#pragma once

#include <span>
#include <string_view>

namespace limegate::app {

/// One page of the manual (daemon/manual) as plain text of 78 columns, built into the program.
struct ManualPage {
  std::string_view topic;                  ///< what `limegate help` knows it by
  std::string_view file;                   ///< "limegate.toml.5"
  std::span<const std::string_view> text;  ///< to be put together
};
[[nodiscard]] std::span<const ManualPage> manual_pages();

}  // namespace limegate::app
