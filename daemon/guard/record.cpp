#include "guard/record.h"

#include <cmath>
#include <sstream>

#include "files/whole_line.h"

namespace limegate::guard {
namespace {

constexpr const char* kFirstMark = "limegate-guard-1";
constexpr const char* kMark = "limegate-guard-2";
/// More of either is no line of ours.
constexpr std::size_t kKeptMax = 1000;

std::int64_t microlitres(Millilitres volume) {
  return static_cast<std::int64_t>(std::ceil(volume.count() * 1000.0 - 1e-6));
}

/// Reads on in a line; where it can't, `in` says so.
Kept kept_from(std::istringstream& in) {
  Kept kept;
  std::size_t count = 0;
  for (in >> count; in && count <= kKeptMax && kept.latches.size() < count;) {
    in >> kept.latches.emplace_back();
  }
  for (in >> count; in && count <= kKeptMax && kept.wishes.size() < count;) {
    std::int64_t volume = 0;
    Duration::rep lasting = 0;
    Duration::rep lifetime = 0;
    Duration::rep wall = 0;
    int what = 0;
    in >> what >> volume >> lasting >> lifetime >> wall;
    kept.wishes.push_back({what, Millilitres{static_cast<double>(volume) / 1000.0},
                           Duration{lasting}, Duration{lifetime}, WallTime{Duration{wall}}});
  }
  return kept;
}

}  // namespace

std::string Record::to_line() const {
  std::ostringstream out;
  out << (kept ? kMark : kFirstMark) << ' ' << boot << ' ' << newest_pulse_id << ' '
      << (stirrer == Stirrer::running ? "running" : "resting") << ' '
      << stir_ended.time_since_epoch().count();
  if (kept) {
    out << ' ' << kept->latches.size();
    for (const std::string& code : kept->latches) {
      out << ' ' << code;
    }
    out << ' ' << kept->wishes.size();
    for (const Kept::Wish& wish : kept->wishes) {
      out << ' ' << wish.what << ' ' << microlitres(wish.volume) << ' ' << wish.lasting.count()
          << ' ' << wish.asked_lifetime.count() << ' '
          << wish.asked_wall.time_since_epoch().count();
    }
  }
  return files::with_sum(out.str());
}

std::optional<Record> Record::from_line(const std::string& line) {
  std::istringstream in(line);
  std::string mark;
  std::string stirrer;
  Record record;
  Duration::rep ended = 0;
  in >> mark >> record.boot >> record.newest_pulse_id >> stirrer >> ended;
  record.stirrer = stirrer == "running" ? Stirrer::running : Stirrer::resting;
  record.stir_ended = Instant{Duration{ended}};
  if (mark != kFirstMark) {
    record.kept = kept_from(in);
  }
  // The line must be the very one that this record makes: mark, sum and all.
  return in && record.to_line() == line ? std::optional{record} : std::nullopt;
}

RecordStore::Saved write_record(const std::string& path, const Record& record) {
  return files::replace(path, record.to_line()) ? RecordStore::Saved::durably
                                                : RecordStore::Saved::failed;
}

std::optional<Record> read_record(const std::string& path) {
  const auto line = files::read(path);
  return line ? Record::from_line(*line) : std::nullopt;
}

}  // namespace limegate::guard
