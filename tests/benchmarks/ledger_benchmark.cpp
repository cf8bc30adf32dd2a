// What years of dosing cost a start: a real ledger of five stations at 600 pulses a day, as the
// version before left it, with every row. It is opened, brought down step by step, and opened
// again.
#include <algorithm>
#include <chrono>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <string>
#include <vector>

#include <benchmark/benchmark.h>

#include "journal/ledger.h"
#include "journal/ledger_rows.h"
#include "journal/stored_row.h"
#include "journal/stored_units.h"
#include "support/program.h"

namespace {

namespace journal = limegate::journal;
using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using limegate::Duration;
using limegate::Instant;
using limegate::WallTime;
using Clock = std::chrono::steady_clock;

constexpr int kStations = 5;
constexpr int kPulsesADay = 600;
constexpr int kStirsADay = 12;
constexpr Duration kDay = 24h;
constexpr Duration kPulse = 30s;
const journal::Boot kBoot{"boot", {Instant{}, WallTime{20000 * kDay}}};

double seconds_since(Clock::time_point begun) {
  return std::chrono::duration<double>(Clock::now() - begun).count();
}

/// Peak memory of this process since `forget_peak`, in MB.
double peak_mb() {
  std::ifstream status("/proc/self/status");
  for (std::string line; std::getline(status, line);) {
    if (line.starts_with("VmHWM:")) {
      return std::stod(line.substr(6)) / 1024;
    }
  }
  return 0;
}
void forget_peak() { std::ofstream("/proc/self/clear_refs") << 5; }

std::string name_of(int station) { return "reef-" + std::to_string(station); }

/// Inserts rows quickly: one statement, bound anew.
template <class Row>
class Inserter {
 public:
  explicit Inserter(const journal::Database& database)
      : insert_(database.prepare(std::string{"INSERT INTO "} + Row::kTable + " VALUES(" + places() +
                                 ")")) {}
  bool operator()(Row row) {
    const std::int64_t sum = journal::checksum_of(row);
    return std::apply([&](const auto&... field) { return insert_->bind(field..., sum).run(); },
                      row.fields())
        .has_value();
  }

 private:
  static std::string places() {
    std::string places = "?1";
    for (std::size_t i = 2; i <= std::tuple_size_v<decltype(Row{}.fields())> + 1; ++i) {
      places += ", ?" + std::to_string(i);
    }
    return places;
  }
  std::unique_ptr<journal::Statement> insert_;
};

journal::PulseRow pulse_row(int station, std::int64_t id) {
  journal::PulseRow row;
  const Duration at = (id - 1) * (kDay / kPulsesADay);
  row.station = name_of(station);
  row.id = id;
  row.volume_ul = row.counted_ul = 5000;
  row.duration_ms = journal::ms(kPulse);
  row.reserved_lifetime_ms = journal::ms(at);
  row.reserved_wall_ms = journal::ms(kBoot.now.wall + at);
  row.end_lifetime_ms = journal::ms(at + kPulse);
  row.end_wall_ms = journal::ms(kBoot.now.wall + at + kPulse);
  row.boot = "0b5f8f1e-2f0c-4c55-9a51-6a0f3a1d7c11";
  row.fate = static_cast<std::int64_t>(limegate::station::Fate::given);
  return row;
}

journal::StirRow stir_row(int station, std::int64_t id) {
  journal::StirRow row;
  const Duration at = (id - 1) * (kDay / kStirsADay);
  row.station = name_of(station);
  row.id = id;
  row.duration_ms = journal::ms(15min);
  row.start_lifetime_ms = journal::ms(at);
  row.start_wall_ms = journal::ms(kBoot.now.wall + at);
  row.boot = "0b5f8f1e-2f0c-4c55-9a51-6a0f3a1d7c11";
  row.end_lifetime_ms = journal::ms(at + 15min);
  row.end_wall_ms = journal::ms(kBoot.now.wall + at + 15min);
  return row;
}

/// Every row of so many days, in the tables of the version before.
bool write_years(const std::string& path, const std::vector<std::string>& names, int days) {
  if (!journal::Ledger::prepare(path, names, kBoot)) {
    return false;
  }
  const auto database = journal::Database::open(path, journal::Creating::no, journal::Sync::normal);
  bool written = database && database->execute("BEGIN").has_value();
  Inserter<journal::PulseRow> pulse{*database};
  Inserter<journal::StirRow> stir{*database};
  for (int day = 0; written && day < days; ++day) {
    for (int station = 0; station < kStations; ++station) {
      for (int i = 1; written && i <= kPulsesADay; ++i) {
        written = pulse(pulse_row(station, std::int64_t{day} * kPulsesADay + i));
      }
      for (int i = 1; written && i <= kStirsADay; ++i) {
        written = stir(stir_row(station, std::int64_t{day} * kStirsADay + i));
      }
    }
    if (day % 30 == 29) {
      written = written && database->execute("COMMIT; BEGIN");
    }
  }
  return written && database->execute(
                        "COMMIT; DROP TABLE past_pulses; DROP TABLE past_stirs; DROP TABLE days; "
                        "PRAGMA application_id = 0; PRAGMA user_version = 7; PRAGMA "
                        "wal_checkpoint(TRUNCATE)");
}

struct Opening {
  double seconds = 0, peak_mb = 0;
  std::size_t doses = 0;  ///< of the last 24 h, of all stations
};

/// What a start of the daemon asks of it.
Opening open_as_a_start_does(const std::string& path, const std::vector<std::string>& names,
                             const journal::Boot& boot) {
  std::vector<journal::Beside> beside;
  beside.reserve(names.size());
  for (const std::string& name : names) {
    beside.push_back(
        {name, limegate::station::SecondCopy{0, limegate::station::SecondCopy::Kept{}}});
  }
  forget_peak();
  const auto begun = Clock::now();
  const auto ledger = journal::Ledger::open(path, beside, boot);
  Opening opening;
  for (const std::string& name : names) {
    opening.doses += ledger ? ledger->history(name, boot)->doses.size() : 0;
  }
  opening.seconds = seconds_since(begun);
  opening.peak_mb = peak_mb();
  return opening;
}

void note(benchmark::State& state, const std::string& which, const Opening& opening) {
  state.counters[which + "_s"] = opening.seconds;
  state.counters[which + "_peak_mb"] = opening.peak_mb;
}

/// Arguments: years.
void start_after_years(benchmark::State& state) {
  const int days = static_cast<int>(state.range(0)) * 365;
  std::vector<std::string> names;
  names.reserve(kStations);
  for (int station = 0; station < kStations; ++station) {
    names.push_back(name_of(station));
  }
  const journal::Boot boot{"boot", {Instant{days * kDay}, kBoot.now.wall + days * kDay}};
  while (state.KeepRunning()) {
    const limegate::test::TempDir folder;
    const std::string path = folder.path() + "/ledger.db";
    if (!write_years(path, names, days)) {
      state.SkipWithError("the ledger could not be written");
      return;
    }
    state.counters["every_row_mb"] = static_cast<double>(std::filesystem::file_size(path)) / 1e6;
    const Opening first = open_as_a_start_does(path, names, boot);
    note(state, "first_start", first);
    note(state, "second_start", open_as_a_start_does(path, names, boot));
    std::vector<double> steps;
    double look_s = 0;
    {
      const auto begun = Clock::now();
      if (!journal::look_through(path, [] { return true; })) {
        state.SkipWithError("the ledger is not sound");
        return;
      }
      look_s = seconds_since(begun);
      const auto ledger = journal::Ledger::open(path, {}, boot);
      for (auto left = journal::Stored<journal::Left>{journal::Left::more};
           left == journal::Left::more;) {
        const auto step = Clock::now();
        left = ledger->tidy(boot.now);
        steps.push_back(1000 * seconds_since(step));
      }
    }
    const Opening last = open_as_a_start_does(path, names, boot);
    note(state, "tidied_start", last);
    if (first.doses != std::size_t{kStations} * kPulsesADay || last.doses != first.doses) {
      state.SkipWithError("doses of today are missing");
      return;
    }
    const auto database =
        journal::Database::open(path, journal::Creating::no, journal::Sync::normal);
    state.counters["used_mb"] = static_cast<double>(*database->number("PRAGMA page_size") *
                                                    (*database->number("PRAGMA page_count") -
                                                     *database->number("PRAGMA freelist_count"))) /
                                1e6;
    std::sort(steps.begin(), steps.end());
    state.counters["first_look_s"] = look_s;
    state.counters["steps"] = static_cast<double>(steps.size());
    state.counters["step_p50_ms"] = steps[steps.size() / 2];
    state.counters["step_p99_ms"] = steps[steps.size() * 99 / 100];
    state.counters["step_max_ms"] = steps.back();
  }
}

}  // namespace

BENCHMARK(start_after_years)->Arg(3)->Arg(10)->Iterations(1)->Unit(benchmark::kSecond);
BENCHMARK_MAIN();
