#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "report/axis.h"
#include "report/chart.h"
#include "report/markup.h"
#include "units/time.h"

namespace limegate::app {

// Tables that a report has, of a station's record or of a rehearsal.

/// "12.3 h", on one line.
[[nodiscard]] std::string hours_text(Duration lasting);

struct HeldRow {
  std::string code;
  Duration lasting{};
  std::vector<report::StripSpan> when;
  std::string more = {};  ///< in words
};
/// The longest first. `more` = the head of what the rows say in words; empty: they say nothing.
[[nodiscard]] report::Markup holds_table(std::vector<HeldRow> rows, const report::Axis& x,
                                         const std::string& more);

/// What says the same but for its numbers, however often it was told, in the order of its first.
class AlertTable {
 public:
  /// `when` = as people read it; not before the one added before.
  void add(const std::string& code, const std::string& sentence, const std::string& when);
  [[nodiscard]] std::size_t kinds() const { return rows_.size(); }
  struct Row {
    std::string kind, sentence, first, last;
    std::size_t times = 0;
  };
  [[nodiscard]] const std::vector<Row>& rows() const { return rows_; }
  [[nodiscard]] report::Markup markup() const;

 private:
  std::vector<Row> rows_;
};

}  // namespace limegate::app
