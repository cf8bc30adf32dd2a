#pragma once

#include <string>
#include <utility>

#include "config/config.h"
#include "rehearsal/outcome.h"
#include "report/document.h"

namespace limegate::app {

/// One page that shows what a rehearsal came to: of the same parts as a station's own report.
class RehearsalReport {
 public:
  /// `config` = the name of the owner's file, for the heading.
  explicit RehearsalReport(std::string config) : config_(std::move(config)) {}

  void add(const config::Station& station, const rehearsal::Outcome& outcome);
  [[nodiscard]] report::Document document() const;

 private:
  std::string config_;
  std::vector<report::Section> sections_;
};

}  // namespace limegate::app
