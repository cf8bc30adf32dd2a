#pragma once

#include <string_view>

namespace limegate::page {

/// What is built in.
struct Asset {
  std::string_view body;
  std::string_view tag;  ///< another one once the body changes, in quotes (RFC 9110, ETag)
};
/// Of a route whose `what` is `asset`.
[[nodiscard]] Asset asset_of(std::string_view target);

}  // namespace limegate::page
