#include "app/report_command.h"

#include <chrono>
#include <cstdio>
#include <memory>
#include <string>

#include <fmt/format.h>

#include "app/check_command.h"
#include "app/exit_code.h"
#include "app/given_config.h"
#include "app/log.h"
#include "app/output_file.h"
#include "app/state_dir.h"
#include "app/station_record.h"
#include "app/station_report.h"
#include "files/new_file.h"
#include "report/document.h"

namespace limegate::app {
namespace {

/// As long as readings are kept.
constexpr int kDaysMost = 5 * 366;

struct Given {
  std::string file, station, out;
  int days = 30;
};

int end_with(const std::string& why, int code) {
  std::fputs(as_errors(fmt::format("limegate report: {}\n", why)).c_str(), stderr);
  return code;
}

int report_on(const Given& given) {
  const auto config = load_given(given.file);
  if (!config) {
    std::fputs(as_errors(explain(config.error(), given.file, Format::people)).c_str(), stderr);
    return kBadInput;
  }
  const auto station = station_meant(config->config, given.station);
  if (!station) {
    return end_with(station.error() + ".", kBadInput);
  }
  if (const auto why = objection_to_output(given.out, ".html", given.file); !why.empty()) {
    return end_with(why, kBadInput);
  }
  const auto now = std::chrono::time_point_cast<Duration>(
      std::chrono::floor<std::chrono::seconds>(std::chrono::system_clock::now()));
  const std::string& state_dir = config->config.state_dir;
  const auto record = read_record({readings_path(state_dir), ledger_path(state_dir)},
                                  (*station)->settings.name, now, given.days);
  if (!record) {
    return end_with(record.error(), kNotConfirmed);
  }
  auto file = files::NewFile::begin(given.out);
  if (!file) {
    return end_with(not_written(given.out, file.error()), kBadInput);
  }
  file->write(report::page_of(report_of(*record, **station)));
  if (const auto done = file->finish(); !done) {
    return end_with(not_written(given.out, done.error()), kNotConfirmed);
  }
  return kFine;
}

}  // namespace

void add_report_command(CLI::App& app, int& code) {
  const auto given = std::make_shared<Given>();
  CLI::App* command = app.add_subcommand(
      "report",
      "One page of what the record says: what was given against the plan, pH against its usual "
      "course, what held, every alert, what to change");
  command->add_option("CONFIG", given->file, "The file that the daemon runs with")->required();
  command
      ->add_option("--out", given->out,
                   "The page, NAME.html: it needs nothing else, and prints on two sheets of A4")
      ->required();
  command->add_option("--days", given->days, "Of the last so many days, today with them")
      ->check(CLI::Range(1, kDaysMost))
      ->capture_default_str();
  command->add_option("--station", given->station, "Which one, where there are several");
  command->footer(
      "It only reads, beside a running daemon or without one, as the daemon's user or root:\n"
      "  limegate report /etc/limegate/limegate.toml --days 30 --out november.html");
  command->callback([=, &code] { code = report_on(*given); });
}

}  // namespace limegate::app
