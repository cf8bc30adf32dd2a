#pragma once

#include <string>

#include <tl/expected.hpp>

#include "config/config.h"
#include "rehearsal/rehearsal.h"

namespace limegate::app {

/// One page that shows what a rehearsal came to, with charts: a file that needs nothing else and
/// asks nothing of any network.
class ReportPage {
 public:
  /// `config` = the name of the owner's file, for the heading.
  explicit ReportPage(std::string config) : config_(std::move(config)) {}

  void add(const config::Station& station, const rehearsal::Rehearsal::Plan& plan,
           const rehearsal::Outcome& outcome);

  /// Whether a page can be written there, before anything is rehearsed.
  /// Error: one line with the file, what is wrong, and what to do.
  [[nodiscard]] static tl::expected<void, std::string> can_write(const std::string& path);

  /// Error: the same.
  [[nodiscard]] tl::expected<void, std::string> write(const std::string& path) const;

 private:
  [[nodiscard]] std::string html() const;
  std::string config_;
  std::string sections_;
};

}  // namespace limegate::app
