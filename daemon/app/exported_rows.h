#pragma once

#include <functional>
#include <string>
#include <string_view>

#include "units/time.h"

namespace limegate::app {

/// One line of an export: a number with its unit, or a text.
struct ExportedRow {
  enum class Unit { ph, celsius, millilitres, none };
  WallTime at;
  std::string_view what;  ///< a name of letters and hyphens
  Unit unit = Unit::none;
  double value = 0.0;     ///< of `none`: means nothing
  std::string text = {};  ///< of `none` alone
};

/// Takes an export piece by piece.
using Write = std::function<void(std::string_view)>;

/// Writes rows as a program takes them. Rows come by time.
class RowWriter {
 public:
  explicit RowWriter(Write write) : write_(std::move(write)) {}
  virtual ~RowWriter() = default;
  RowWriter(const RowWriter&) = delete;
  RowWriter& operator=(const RowWriter&) = delete;
  RowWriter(RowWriter&&) = delete;
  RowWriter& operator=(RowWriter&&) = delete;
  virtual void row(const ExportedRow& row) = 0;
  /// After the last of one row or more.
  virtual void end() {}

 protected:
  void write(std::string_view piece) const { write_(piece); }

 private:
  Write write_;
};

/// Comma-separated values: RFC 4180, with times as in RFC 3339. The first line is
/// time,what,value,unit,text.
class CsvWriter : public RowWriter {
 public:
  using RowWriter::RowWriter;
  void row(const ExportedRow& row) override;

 private:
  bool begun_ = false;
};

/// A SenML pack as JSON: RFC 8428, sections 4 and 5. Volumes are in m3, for litres are not to be
/// used by new programs (section 12.1). `base_name` = of letters, digits and - : . / _, beginning
/// with a letter or digit (section 4.5.1).
class SenmlWriter : public RowWriter {
 public:
  SenmlWriter(Write write, std::string base_name)
      : RowWriter(std::move(write)), base_name_(std::move(base_name)) {}
  void row(const ExportedRow& row) override;
  void end() override { write("\n]\n"); }

 private:
  std::string base_name_;
  bool begun_ = false;
};

}  // namespace limegate::app
