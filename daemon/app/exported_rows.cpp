#include "app/exported_rows.h"

#include <chrono>
#include <cmath>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "units/csv_quoted.h"
#include "units/iso8601.h"

namespace limegate::app {
namespace {

using nlohmann::json;
using Unit = ExportedRow::Unit;

/// As many digits as were recorded.
std::string number(const ExportedRow& row) {
  return fmt::format("{:.{}f}", row.value, row.unit == Unit::celsius ? 2 : 3);
}

std::string json_text(std::string_view text) {
  return json(text).dump(-1, ' ', false, json::error_handler_t::replace);
}

/// The value with its unit of SenML's registry (RFC 8428, section 12.1).
std::string senml_value(const ExportedRow& row) {
  switch (row.unit) {
    case Unit::ph:
      return fmt::format(R"("u":"pH","v":{})", number(row));
    case Unit::celsius:
      return fmt::format(R"("u":"Cel","v":{})", number(row));
    case Unit::millilitres:  // whole microlitres, which are 1e-9 m3
      return fmt::format(R"("u":"m3","v":{:.0f}e-9)", std::round(row.value * 1000.0));
    case Unit::none:
      break;
  }
  return fmt::format(R"("vs":{})", json_text(row.text));
}

const char* csv_unit(Unit unit) {
  return unit == Unit::ph            ? "pH"
         : unit == Unit::celsius     ? "Cel"
         : unit == Unit::millilitres ? "mL"
                                     : "";
}

}  // namespace

void CsvWriter::row(const ExportedRow& row) {
  if (!begun_) {
    write("time,what,value,unit,text\r\n");
    begun_ = true;
  }
  const bool text = row.unit == Unit::none;
  write(fmt::format("{},{},{},{},{}\r\n", iso8601(row.at), row.what, text ? "" : number(row),
                    csv_unit(row.unit), text ? csv_quoted(row.text) : ""));
}

void SenmlWriter::row(const ExportedRow& row) {
  // Whole times of the clock, without a base: each record can be read alone.
  const auto at = std::chrono::floor<std::chrono::seconds>(row.at.time_since_epoch()).count();
  const std::string begin = begun_ ? ",\n{" : fmt::format("[\n{{\"bn\":{},", json_text(base_name_));
  write(fmt::format(R"({}"n":"{}","t":{},{}}})", begin, row.what, at, senml_value(row)));
  begun_ = true;
}

}  // namespace limegate::app
