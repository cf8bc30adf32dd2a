#include "care/entry_reader.h"

#include <algorithm>
#include <cctype>
#include <charconv>
#include <cmath>
#include <optional>
#include <utility>
#include <vector>

#include <fmt/format.h>

#include "care/commission.h"
#include "chemistry/keeper_units.h"
#include "units/plain_number.h"

namespace limegate::care {
namespace {

struct Unit {
  std::string_view name;
  double factor;
};
/// What a row may tell of: its units, and what can be true of it in the first one of these.
struct Row {
  std::string_view what;
  std::vector<Unit> units;
  double lowest;
  double highest;
  std::string_view remedy;
  Entry::What (*make)(double value, const std::string& kit);
};

const std::vector<Unit>& alkalinity_units() {
  static const double meq = chemistry::to_dkh(MeqPerLitre{1.0}).count();
  static const double ppm = chemistry::to_dkh(chemistry::to_meq_per_litre(PpmCaco3{1.0})).count();
  static const std::vector<Unit> units{{"dKH", 1.0}, {"meq/L", meq},     {"mmol/L", meq},
                                       {"ppm", ppm}, {"ppm CaCO3", ppm}, {"mg/L CaCO3", ppm}};
  return units;
}

/// Of what was done, and has no value.
template <class What>
Row done(std::string_view what) {
  return {what, {}, 0.0, 0.0, "", [](double, const std::string&) -> Entry::What {
            return What{}; }};
}

/// Bounds are past what any tank has, even one that nobody looked after (TRADE.md: 7 to 11 dKH, 380
/// to 450 mg/L calcium, 1250 to 1350 magnesium; common practice). What is within them is judged
/// beside the rest of the book, and volumes beside the tank, later (doubts.h).
// NOLINTNEXTLINE(readability-function-size): a table
const std::vector<Row>& rows() {
  static const std::vector<Unit> mass{{"mg/L", 1.0}, {"ppm", 1.0}};
  static const std::vector<Unit> salt{{"psu", 1.0}, {"ppt", 1.0}, {"", 1.0}};
  static const std::vector<Row> known{
      {"alkalinity", alkalinity_units(), 0.0, 60.0,
       "reef water has 7 to 11 dKH. Look for a slip by ten, or the wrong unit",
       [](double v, const std::string& kit) -> Entry::What {
         return AlkalinityTest{Dkh{v}, kit};
       }},
      {"calcium", mass, 150.0, 900.0,
       "reef water has 380 to 450 mg/L. Look for a slip by ten, or the wrong unit",
       [](double v, const std::string&) -> Entry::What { return CalciumTest{MgPerLitre{v}}; }},
      {"magnesium", mass, 500.0, 2500.0,
       "reef water has 1250 to 1350 mg/L. Look for a slip by ten, or the wrong unit",
       [](double v, const std::string&) -> Entry::What { return MagnesiumTest{MgPerLitre{v}}; }},
      {"salinity", salt, 5.0, 60.0, "reef water has 34 to 36. Look for a slip, or the wrong unit",
       [](double v, const std::string&) -> Entry::What { return SalinityTest{Salinity{v}}; }},
      {"phosphate", mass, 0.0, 10.0,
       "reef water has less than 0.1 mg/L. Look for a slip by ten, or the wrong unit",
       [](double v, const std::string&) -> Entry::What { return PhosphateTest{MgPerLitre{v}}; }},
      {"ph",
       {{"pH", 1.0}, {"", 1.0}},
       5.0,
       11.0,
       "reef water has 7.9 to 8.45. Look at the buffers, and for a slip",
       [](double v, const std::string&) -> Entry::What { return PhTest{Ph{v}}; }},
      {"limewater",
       {{"mL", 1.0}, {"L", 1000.0}},
       0.0,
       1e9,
       "what is given is not taken back. Write the volume of the 24 h that begin then",
       [](double v, const std::string&) -> Entry::What { return LimewaterGiven{Millilitres{v}}; }},
      {"water_change",
       {{"L", 1.0}, {"mL", 0.001}},
       0.0,
       1e6,
       "write how much of the tank's water was changed",
       [](double v, const std::string&) -> Entry::What { return WaterChange{Litres{v}}; }},
      {"new_water", alkalinity_units(), 0.0, 25.0,
       "write the alkalinity of the water that is put in. Look for a slip by ten",
       [](double v, const std::string&) -> Entry::What { return NewWater{Dkh{v}}; }},
      {"supplement",
       {{"meq", 1.0}, {"mmol", 1.0}},
       0.0,
       1e7,
       "write the alkalinity that it brought",
       [](double v, const std::string&) -> Entry::What { return Supplement{Milliequivalents{v}}; }},
      {"powder",
       {{"g", 1.0}, {"kg", 1000.0}},
       1.0,
       2000.0,
       "a charge is 90 to 180 g by the bore of the vessel. Write the grams that were put in",
       [](double v, const std::string&) -> Entry::What {
         return PowderAdded{Kilograms{v / 1000.0}};
       }},
      {"rate",
       {{"mL/min", 1.0}, {"L/h", 1000.0 / 60.0}},
       0.1,
       2000.0,
       "write what a timed run into a cylinder gave in a minute",
       [](double v, const std::string&) -> Entry::What {
         return RateMeasured{MillilitresPerMinute{v}};
       }},
      done<ReactorCleaned>("cleaned"),
      done<ProbeCalibrated>("calibrated"),
      done<NewTube>("new_tube"),
      done<NewBuffers>("new_buffers"),
      done<NewKit>("new_kit"),
      done<NewElectrode>("new_electrode")};
  return known;
}

template <class List, class Name>
std::string names_of(const List& list, const Name& name) {
  std::string names;
  for (const auto& one : list) {
    if (!name(one).empty()) {
      names += fmt::format("{}{}", names.empty() ? "" : ", ", name(one));
    }
  }
  return names;
}

std::optional<double> number_of(const std::string& text) {
  double value = 0.0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  const bool whole = end == text.data() + text.size();
  return error == std::errc{} && whole && std::isfinite(value) ? std::optional{value}
                                                               : std::nullopt;
}

/// A value in the first unit of its row. The unit comes to be as it is written here.
tl::expected<double, std::string> value_of(const Row& row, const std::string& text,
                                           std::string& unit) {
  const auto known = std::find_if(row.units.begin(), row.units.end(),
                                  [&](const Unit& one) { return plain(one.name) == plain(unit); });
  if (known == row.units.end()) {
    return tl::unexpected(
        fmt::format("{} {}. Not used: write one of {}", row.what,
                    unit.empty() ? "has no unit" : fmt::format("can't be in '{}'", shown(unit)),
                    names_of(row.units, [](const Unit& one) { return one.name; })));
  }
  const auto number = number_of(text);
  if (!number) {
    return tl::unexpected(
        fmt::format("{} '{}' is no number. Not used: write digits, with a point before decimals",
                    row.what, shown(text)));
  }
  const double value = *number * known->factor;
  if (!(value >= row.lowest && value <= row.highest)) {
    return tl::unexpected(fmt::format("{} of {}{}{} can't be true. Not used: {}", row.what,
                                      plain_number(*number, 6), known->name.empty() ? "" : " ",
                                      known->name, row.remedy));
  }
  unit = known->name;
  return value;
}

}  // namespace

std::string plain(std::string_view text) {
  std::string result;
  for (const char c : text) {
    if (std::isspace(static_cast<unsigned char>(c)) == 0) {
      result += static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
    }
  }
  return result;
}

std::string shown(std::string_view text) {
  constexpr std::size_t most = 40;
  std::string result;
  for (const char c : text.substr(0, most)) {
    result += c >= ' ' && c <= '~' ? c : '?';
  }
  return result + (text.size() > most ? "..." : "");
}

std::string trimmed(std::string_view text) {
  const auto from = text.find_first_not_of(" \t");
  const auto to = text.find_last_not_of(" \t");
  return from == std::string_view::npos ? "" : std::string{text.substr(from, to - from + 1)};
}

tl::expected<Entry, std::string> read_entry(Written& written) {
  std::string what = plain(written.what);
  std::replace(what.begin(), what.end(), '-', '_');  // as a command line has it
  if (what == kStepEntry) {
    written.what = what;
    auto step = read_step(written);
    return step ? tl::expected<Entry, std::string>{Entry{written.at, std::move(*step), 0}}
                : tl::unexpected(step.error());
  }
  const auto row =
      std::find_if(rows().begin(), rows().end(), [&](const Row& one) { return one.what == what; });
  if (row == rows().end()) {
    return tl::unexpected(fmt::format("'{}' is not known here. Not used: write one of {}",
                                      shown(written.what),
                                      names_of(rows(), [](const Row& one) { return one.what; })));
  }
  written.what = what;
  if (row->units.empty()) {
    if (!written.value.empty() || !written.unit.empty()) {
      return tl::unexpected(fmt::format("{} takes no value. Not used: leave it out", what));
    }
    return Entry{written.at, row->make(0.0, written.kit), 0};
  }
  const auto value = value_of(*row, written.value, written.unit);
  if (!value) {
    return tl::unexpected(value.error());
  }
  return Entry{written.at, row->make(*value, written.kit), 0};
}

Measured measured(std::string_view text) {
  double ignored = 0.0;
  const std::string whole = trimmed(text);
  const char* const end = std::from_chars(whole.data(), whole.data() + whole.size(), ignored).ptr;
  const auto digits = static_cast<std::size_t>(end - whole.data());
  return {whole.substr(0, digits), trimmed(std::string_view{whole}.substr(digits))};
}

}  // namespace limegate::care
