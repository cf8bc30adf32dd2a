#include "app/report_tables.h"

#include <algorithm>
#include <chrono>
#include <utility>

#include <fmt/format.h>

namespace limegate::app {

std::string hours_text(Duration lasting) {
  return fmt::format("{:.1f}\u00a0h",  // which no line is broken at
                     std::chrono::duration<double, std::ratio<3600>>(lasting).count());
}

report::Markup holds_table(std::vector<HeldRow> rows, const report::Axis& x,
                           const std::string& more) {
  std::stable_sort(rows.begin(), rows.end(),
                   [](const auto& a, const auto& b) { return a.lasting > b.lasting; });
  report::Table table{{"hold", "in all", "when"}, {}, "Nothing held dosing back."};
  if (!more.empty()) {
    table.head.push_back(more);
  }
  table.rows.reserve(rows.size());
  for (const HeldRow& row : rows) {
    std::vector<report::Markup> cells{report::text(row.code), report::text(hours_text(row.lasting)),
                                      report::strip(x, row.when, row.code)};
    if (!more.empty()) {
      cells.push_back(report::text(row.more));
    }
    table.rows.push_back(std::move(cells));
  }
  return report::table(table);
}

void AlertTable::add(const std::string& code, const std::string& sentence,
                     const std::string& when) {
  std::string kind = fmt::format("{}: {}", code, sentence);
  std::erase_if(kind, [](char c) { return c >= '0' && c <= '9'; });
  const auto known =
      std::find_if(rows_.begin(), rows_.end(), [&](const Row& row) { return row.kind == kind; });
  if (known == rows_.end()) {
    rows_.push_back({std::move(kind), sentence, when, when, 1});
    return;
  }
  known->last = when;
  ++known->times;
}

report::Markup AlertTable::markup() const {
  report::Table table{{"first told", "times", "last", "alert"}, {}, "No alert was told."};
  table.rows.reserve(rows_.size());
  for (const Row& row : rows_) {
    table.rows.push_back({report::text(row.first), report::text(std::to_string(row.times)),
                          report::text(row.times > 1 ? row.last : ""), report::text(row.sentence)});
  }
  return report::table(table);
}

}  // namespace limegate::app
