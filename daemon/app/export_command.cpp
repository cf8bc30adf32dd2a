#include "app/export_command.h"

#include <algorithm>
#include <array>
#include <chrono>
#include <cstdio>
#include <memory>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include <fmt/format.h>
#include <tl/expected.hpp>
#include <unistd.h>

#include "app/check_command.h"
#include "app/exit_code.h"
#include "app/exported_rows.h"
#include "app/given_config.h"
#include "app/log.h"
#include "app/output_file.h"
#include "app/state_dir.h"
#include "app/station_record.h"
#include "app/time_given.h"
#include "files/new_file.h"
#include "journal/happenings.h"
#include "journal/recorded.h"

namespace limegate::app {
namespace {

using Unit = ExportedRow::Unit;

constexpr int kDaysMost = 5 * 366;  ///< as long as readings are kept

struct Given {
  std::string file, station, from, until, out;
  int days = 1;
  bool senml = false;
};

int end_with(const std::string& why, int code) {
  std::fputs(as_errors(fmt::format("limegate export: {}\n", why)).c_str(), stderr);
  return code;
}

/// Error: one sentence.
tl::expected<journal::CourseAsked, std::string> span_of(const Given& given,
                                                        const std::string& station) {
  const auto now = std::chrono::time_point_cast<Duration>(
      std::chrono::ceil<std::chrono::seconds>(std::chrono::system_clock::now()));
  const auto until = time_given("--until", given.until, now);
  if (!until) {
    return tl::unexpected(until.error() + ".");
  }
  const auto from = time_given("--from", given.from, *until - std::chrono::days{given.days});
  if (!from) {
    return tl::unexpected(from.error() + ".");
  }
  if (!(*from < *until)) {
    return tl::unexpected(
        given.until.empty()
            ? "--from must be in the past."
            : "--until must be later than --from: what is exported lies between them.");
  }
  return journal::CourseAsked{station, *from, *until};
}

/// Rows that come by time, of what is read first: few beside the readings.
using Rows = std::vector<ExportedRow>;

Rows beside_readings(const journal::RecordFiles& files, const journal::CourseAsked& asked,
                     journal::Stored<void>& done, std::string& remark) {
  Rows rows;
  const auto volumes = journal::read_volumes(files, asked, [&](const auto& volume) {
    rows.push_back({volume.at, volume.day ? "given-in-day" : "given", Unit::millilitres,
                    volume.volume.count()});
  });
  if (!volumes) {
    remark = fmt::format("What was given is left out, for the ledger can't be read: {}.",
                         volumes.error().text());
  }
  // The last second is not of the span: it would be in the next one too.
  const WallTime last = asked.until - std::chrono::seconds{1};
  for (const auto& [whose, what] : {std::pair{asked.station, "event"}, {"", "daemon-event"}}) {
    if (done) {
      const auto take = [&rows, what = what](const auto& told) {
        rows.push_back(
            {told.at, what, Unit::none, 0.0, fmt::format("{}: {}", told.code, told.sentence)});
      };
      done = journal::read_events(files.readings, {whose, asked.from, last}, take);
    }
  }
  std::stable_sort(rows.begin(), rows.end(),
                   [](const auto& a, const auto& b) { return a.at < b.at; });
  return rows;
}

/// Everything by time; how many rows that was.
journal::Stored<std::size_t> write_rows(const journal::RecordFiles& files,
                                        const journal::CourseAsked& asked, RowWriter& writer,
                                        std::string& remark) {
  journal::Stored<void> done;
  const Rows others = beside_readings(files, asked, done, remark);
  std::size_t count = 0;
  auto next = others.begin();
  const auto put = [&](const ExportedRow& row) {
    writer.row(row);
    ++count;
  };
  const auto put_until = [&](WallTime at) {
    for (; next != others.end() && next->at <= at; ++next) {
      put(*next);
    }
  };
  const auto put_value = [&](WallTime at, const char* what, Unit unit,
                             const std::optional<double>& value) {
    if (value) {
      put({at, what, unit, *value});
    }
  };
  if (done) {
    done = journal::read_readings(files, asked, [&](const journal::RecordedReading& reading) {
      put_until(reading.at);
      put_value(reading.at, reading.mean ? "ph-mean" : "ph", Unit::ph, reading.ph);
      put_value(reading.at, "ph-low", Unit::ph, reading.ph_low);
      put_value(reading.at, "ph-high", Unit::ph, reading.ph_high);
      put_value(reading.at, reading.mean ? "temperature-mean" : "temperature", Unit::celsius,
                reading.temperature);
    });
  }
  if (!done) {
    return tl::unexpected(done.error());
  }
  put_until(asked.until);
  if (count > 0) {
    writer.end();
  }
  return count;
}

/// A name that is this machine's and this station's (RFC 8428, section 4.5.1).
std::string base_name(const std::string& station) {
  std::array<char, 256> host{};
  const bool named = ::gethostname(host.data(), host.size() - 1) == 0;
  std::string name = fmt::format("{}/limegate/{}/", named ? host.data() : "", station);
  std::erase_if(name, [](char c) {
    const bool letter = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9');
    return !letter && std::string_view{"-:./_"}.find(c) == std::string_view::npos;
  });
  return name.substr(std::min(name.find_first_not_of("-:./_"), name.size()));
}

int write_all(const Given& given, const journal::RecordFiles& files,
              const journal::CourseAsked& asked) {
  std::optional<files::NewFile> file;
  if (!given.out.empty()) {
    auto begun = files::NewFile::begin(given.out);
    if (!begun) {
      return end_with(not_written(given.out, begun.error()), kBadInput);
    }
    file.emplace(std::move(*begun));
  }
  const Write write = [&](std::string_view piece) {
    if (file) {
      file->write(piece);
    } else {
      std::fwrite(piece.data(), 1, piece.size(), stdout);
    }
  };
  std::unique_ptr<RowWriter> writer = std::make_unique<CsvWriter>(write);
  if (given.senml) {
    writer = std::make_unique<SenmlWriter>(write, base_name(asked.station));
  }
  std::string remark;
  const auto count = write_rows(files, asked, *writer, remark);
  if (!count) {
    return end_with(unreadable(count.error()), kNotConfirmed);
  }
  if (*count == 0) {
    return end_with("Nothing was recorded of this station in that time. Ask for another span.",
                    kNotConfirmed);
  }
  if (file) {
    if (const auto finished = file->finish(); !finished) {
      return end_with(not_written(given.out, finished.error()), kNotConfirmed);
    }
  } else if (std::fflush(stdout) != 0 || std::ferror(stdout) != 0) {
    return end_with("not all of it could be written: has the disk room?", kNotConfirmed);
  }
  return remark.empty() ? kFine : end_with(remark, kNotConfirmed);
}

int export_record(const Given& given) {
  const auto config = load_given(given.file);
  if (!config) {
    std::fputs(as_errors(explain(config.error(), given.file, Format::people)).c_str(), stderr);
    return kBadInput;
  }
  const auto station = station_meant(config->config, given.station);
  if (!station) {
    return end_with(station.error() + ".", kBadInput);
  }
  const auto asked = span_of(given, (*station)->settings.name);
  if (!asked) {
    return end_with(asked.error(), kBadInput);
  }
  const auto why = objection_to_output(given.out, given.senml ? ".json" : ".csv", given.file);
  if (!why.empty()) {
    return end_with(why, kBadInput);
  }
  const std::string& state_dir = config->config.state_dir;
  return write_all(given, {readings_path(state_dir), ledger_path(state_dir)}, *asked);
}

}  // namespace

void add_export_command(CLI::App& app, int& code) {
  const auto given = std::make_shared<Given>();
  CLI::App* command = app.add_subcommand(
      "export",
      "The record of any span for other programs: pH, temperature, what was given, events");
  command->add_option("CONFIG", given->file, "The file that the daemon runs with")->required();
  auto* days = command->add_option("--days", given->days, "The last so many days before --until")
                   ->check(CLI::Range(1, kDaysMost))
                   ->capture_default_str();
  command->add_option("--from", given->from, "Else from then on: 2026-11-25T07:15:00Z")
      ->excludes(days);
  command->add_option("--until", given->until, "Until before then; now unless given");
  command->add_flag("--senml", given->senml,
                    "As SenML in JSON (RFC 8428), in place of comma-separated values");
  command->add_option("--out", given->out,
                      "A file, NAME.csv or NAME.json, in place of the standard output");
  command->add_option("--station", given->station, "Which one, where there are several");
  command->footer(
      "It only reads, beside a running daemon or without one, as the daemon's user or root:\n"
      "  limegate export reef.toml --days 7 --out week.csv\n"
      "  limegate export reef.toml --from 2026-11-01T00:00:00Z --until 2026-12-01T00:00:00Z "
      "--senml\n"
      "Of pH and temperature it has what was written down, of what is older than 14 days "
      "ten-minute means with the lowest and the highest pH; of what was given each pulse, of what "
      "is older than 90 days a sum for each UTC day.");
  command->callback([=, &code] { code = export_record(*given); });
}

}  // namespace limegate::app
