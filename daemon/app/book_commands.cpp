#include "app/book_commands.h"

#include <cstdint>
#include <memory>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "app/book_asked.h"
#include "app/exit_code.h"
#include "app/time_given.h"
#include "app/typed_text.h"
#include "care/book_reader.h"
#include "files/regular.h"
#include "station/command.h"
#include "units/iso8601.h"

namespace limegate::app {
namespace {

using nlohmann::json;

constexpr std::size_t kLongestFile = std::size_t{1024} * 1024;
/// What commissioning writes into the book.
constexpr std::string_view kStep = "step";
/// Rows of a file that may wait for the disk at once.
constexpr std::size_t kWaitsAfter = 100;

struct Given : Meant {
  std::string what, value, at, kit, from;
  std::int64_t number = 0;
  bool sure = false, csv = false;
};

/// What came of one or many requests, of which `taken` were accepted.
int end_with(Reached& daemon, std::size_t taken, bool accepted) {
  if (taken > 0 && !all_written(daemon)) {
    complain(
        "It could not be written down yet: the daemon knows of it and goes on trying, but if it "
        "ends before, it is lost. See limegate status, and look with limegate book.\n");
    return kNotConfirmed;
  }
  return accepted ? kFine : kRefused;
}

json params_of(const care::Written& row, bool sure) {
  return {{"what", row.what},
          {"value", row.value},
          {"unit", row.unit},
          {"kit", row.kit},
          {"sure", sure}};
}

/// Asks, and says what came of it as `send` does. Error: the ExitCode.
tl::expected<bool, int> ask(Reached& daemon, const Given& given, const station::Command& command,
                            json params) {
  params["station"] = daemon.station;
  const auto answer = daemon.client.ask(station::name_of(command), params);
  if (!answer) {
    return tl::unexpected(failed(answer.error()));
  }
  return told(given, *answer);
}

int record(const Given& given) {
  const care::Measured value = care::measured(given.value);
  json params = params_of({{}, given.what, value.value, value.unit, given.kit}, given.sure);
  if (!given.at.empty()) {
    if (const auto at = time_given("--at", given.at, {}); !at) {
      complain(at.error() + ".\n");
      return kBadInput;
    }
    params["at"] = given.at;
  }
  auto daemon = reach(given);
  if (!daemon) {
    return daemon.error();
  }
  const auto accepted = ask(*daemon, given, station::WriteEntry{}, std::move(params));
  return accepted ? end_with(*daemon, *accepted ? 1 : 0, *accepted) : accepted.error();
}

/// Why a row of a file is no keeper's entry; empty: it is one.
std::string objection_to(const care::Written& row) {
  for (const std::string* text : {&row.what, &row.value, &row.unit, &row.kit}) {
    if (const char* const wrong = objection_to_text(*text)) {
      return std::string{"a field "} + wrong;
    }
  }
  return row.what == kStep ? "a step of commissioning is taken at the station and in no file" : "";
}

/// Each row of a file; what is refused is told with its line, and the others are written down.
int record_file(const Given& given) {
  const auto text = files::read_regular(given.from, kLongestFile);
  if (!text) {
    complain(fmt::format("{} can't be read: {}.\n", given.from, text.error()));
    return kBadInput;
  }
  const auto rows = care::read_rows(*text);
  if (!rows) {
    complain(fmt::format("{}: {}.\n", given.from, rows.error()));
    return kBadInput;
  }
  auto daemon = reach(given);
  if (!daemon) {
    return daemon.error();
  }
  std::size_t refused = 0, taken = 0;
  for (const care::ReadRow& row : *rows) {
    std::string why = row.wrong.empty() ? objection_to(row.written) : row.wrong;
    if (why.empty()) {
      json params = params_of(row.written, given.sure);
      params["at"] = iso8601(row.written.at);
      params["station"] = daemon->station;
      const auto answer = daemon->client.ask(station::name_of(station::WriteEntry{}), params);
      if (!answer) {
        return failed(answer.error());
      }
      why = answer->value("accepted", false) ? "" : answer->value("sentence", std::string{});
      taken += why.empty() ? 1U : 0U;
    }
    // The disk is given time: what waits for it holds dosing back.
    if (why.empty() && taken % kWaitsAfter == 0 && !all_written(*daemon)) {
      complain(fmt::format("Nothing was read beyond line {}.\n", row.line));
      return end_with(*daemon, taken, refused == 0);
    }
    if (!why.empty()) {
      ++refused;
      complain(fmt::format("line {}: {}\n", row.line, why));
    }
  }
  print(fmt::format("{} of {} rows were written down.\n", rows->size() - refused, rows->size()));
  return end_with(*daemon, taken, refused == 0);
}

int undo(const Given& given) {
  auto daemon = reach(given);
  if (!daemon) {
    return daemon.error();
  }
  const auto accepted = ask(*daemon, given, station::UndoEntry{}, json{{"number", given.number}});
  return accepted ? end_with(*daemon, *accepted ? 1 : 0, *accepted) : accepted.error();
}

std::string line_of(const json& entry) {
  const care::Written row = row_of(entry);
  return fmt::format(
      "{:>5}  {}  {}{}{}{}{}{}{}{}\n", entry.value("number", std::int64_t{0}), iso8601(row.at),
      row.what, row.value.empty() ? "" : " ", row.value, row.unit.empty() ? "" : " ", row.unit,
      row.kit.empty() ? "" : fmt::format(" ({})", row.kit),
      was_undone(entry) ? ", taken back " + entry.value("undone", std::string{}) : "",
      entry.value("written", true) ? "" : ", not on the disk yet");
}

int book(const Given& given) {
  auto daemon = reach(given);
  if (!daemon) {
    return daemon.error();
  }
  const auto entries = entries_after(*daemon, 0);
  if (!entries) {
    return entries.error();
  }
  if (given.json) {
    print(json(*entries).dump(2) + "\n");
    return kFine;
  }
  std::string lines;
  std::vector<care::Written> rows;
  rows.reserve(entries->size());
  for (const json& entry : *entries) {
    lines += line_of(entry);
    care::Written row = row_of(entry);
    if (!was_undone(entry) && row.what != kStep) {  // those are this station's alone
      rows.push_back(std::move(row));
    }
  }
  if (given.csv) {
    print(care::csv_of(rows));
  } else {
    print(lines.empty() ? "Nothing is in the book yet: limegate record.\n" : lines);
  }
  return kFine;
}

}  // namespace

void add_book_commands(CLI::App& app, int& code) {
  const auto given = std::make_shared<Given>();
  CLI::App* record_it = add_for_station(
      app, "record", "Write a water test, or what you did, into the book of a running daemon",
      *given);
  record_it->add_option("WHAT", given->what,
                        "alkalinity, calcium, magnesium, salinity, phosphate, ph; water_change, "
                        "new_water, supplement; powder, cleaned, calibrated, rate; new_tube, "
                        "new_buffers, new_kit, new_electrode");
  record_it->add_option("VALUE", given->value, "With its unit: 8.1dKH, 420mg/L, 40L, 130g");
  record_it->add_option("--at", given->at, "When it was: 2026-11-25T07:15:00Z; else now");
  record_it->add_option("--kit", given->kit, "Of which kit: another one is off by another amount");
  record_it->add_flag("--sure", given->sure, "What was asked back is so");
  record_it->add_option("--from", given->from, "Every row of this file, as book --csv writes it");
  record_it->callback([=, &code] {
    if (given->from.empty() == given->what.empty()) {
      complain("Say what to record, or --from FILE, and not both.\n");
      code = kBadInput;
      return;
    }
    code = given->from.empty() ? record(*given) : record_file(*given);
  });

  CLI::App* undo_it = add_for_station(
      app, "undo", "Take an entry of the book back; it stays there, and counts no more", *given);
  undo_it->add_option("ENTRY", given->number, "Its number, as limegate book shows it")->required();
  undo_it->callback([=, &code] { code = undo(*given); });

  CLI::App* book_it = add_for_station(app, "book", "Show the book of a running daemon", *given);
  book_it->add_flag("--csv", given->csv, "As a table that advise and record read");
  book_it->callback([=, &code] { code = book(*given); });
}

}  // namespace limegate::app
