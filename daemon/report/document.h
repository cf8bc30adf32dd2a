#pragma once

#include <string>
#include <vector>

#include "report/markup.h"

namespace limegate::report {

struct Section {
  std::string heading;
  Markup body;
};

/// One page, or what prints as a few: HTML that is well-formed XML too, needs no other file, asks
/// nothing of any network and runs no script. On A4 a section is not torn if it fits a sheet.
struct Document {
  std::string title;
  std::string lead;  ///< a sentence or two below the title
  std::vector<Section> sections;
};

[[nodiscard]] std::string page_of(const Document& document);

}  // namespace limegate::report
