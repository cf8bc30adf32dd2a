#pragma once

#include <string_view>

#include "page/request_check.h"

namespace limegate::page {

/// What is built in.
struct Asset {
  std::string_view body;
  std::string_view tag;  ///< another one once the body changes, in quotes (RFC 9110, ETag)
};
/// Of a route that has one: page, style, script or description.
[[nodiscard]] Asset asset_of(Route::What what);

}  // namespace limegate::page
