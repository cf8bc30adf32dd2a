#pragma once

#include <string>
#include <string_view>
#include <vector>

#include <tl/expected.hpp>

#include "care/entry_reader.h"

namespace limegate::care {

/// A row that is not used, or that a person should look at: where, and what to do about it.
struct Remark {
  int line = 0;  ///< of the file; 0: of none
  std::string what;

  /// "line 7: what", or only what.
  [[nodiscard]] std::string sentence() const;
};

struct ReadBook {
  Book book;
  std::vector<Remark> remarks;
};

/// A book as comma-separated values (RFC 4180), a header and a row an entry:
///   time,what,value,unit[,kit]
/// Time is RFC 3339. What and unit:
///   alkalinity (dKH, meq/L, mmol/L or ppm of CaCO3), calcium and magnesium (mg/L or ppm),
///   salinity (psu or ppt), phosphate (mg/L or ppm), ph, limewater given in the 24 h that begin
///   then (mL or L), water_change (L or mL of tank water), new_water, the alkalinity of what is
///   changed from then on (as alkalinity), supplement, the alkalinity that it brought (meq or
///   mmol), powder put into the reactor (g), rate of the pump (mL/min), and without a value cleaned
///   (the reactor) and calibrated (the probe of pH).
/// A row that can't be understood, or can't be true, is left out, and is in the remarks; every such
/// row is. Empty lines and lines that begin with # are passed over.
/// Errors: the text is no such table at all; one sentence.
[[nodiscard]] tl::expected<ReadBook, std::string> read_book(std::string_view text);

/// A row of such a table, before it was understood.
struct ReadRow {
  int line = 0;
  Written written;
  std::string wrong;  ///< why it is no row; empty: it is one
};
/// The rows of such a table, as they stand there.
/// Errors: the text is no such table at all; one sentence.
[[nodiscard]] tl::expected<std::vector<ReadRow>, std::string> read_rows(std::string_view text);

/// The book as `read_book` reads it, with the column `kit`.
[[nodiscard]] std::string csv_of(const std::vector<Written>& rows);

}  // namespace limegate::care
