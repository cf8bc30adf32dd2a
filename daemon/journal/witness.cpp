#include "journal/witness.h"

#include <sstream>
#include <variant>

#include "files/whole_line.h"
#include "journal/stored_units.h"

namespace limegate::journal {
namespace {

constexpr const char* kFirstMark = "limegate-witness-1";
constexpr const char* kMark = "limegate-witness-2";
/// More of either is no line of ours.
constexpr std::size_t kKeptMax = 1000;

/// Reads on in a line; where it can't, `in` says so.
std::vector<std::string> latches_from(std::istringstream& in) {
  std::vector<std::string> latches;
  std::size_t count = 0;
  for (in >> count; in && count <= kKeptMax && latches.size() < count;) {
    in >> latches.emplace_back();
  }
  return latches;
}

std::vector<station::Wish> wishes_from(std::istringstream& in) {
  std::vector<station::Wish> wishes;
  std::size_t count = 0;
  for (in >> count; in && count <= kKeptMax && wishes.size() < count;) {
    std::int64_t volume = 0, lasting = 0, lifetime = 0, wall = 0;
    int what = 0;
    in >> what >> volume >> lasting >> lifetime >> wall;
    wishes.push_back({static_cast<station::Wish::What>(what),
                      volume_of(volume),
                      duration_of(lasting),
                      {duration_of(lifetime), wall_of(wall)}});
  }
  return wishes;
}

std::string line_of(const Witness& witness, const std::string& mark) {
  std::ostringstream out;
  out << mark << ' ' << witness.newest_pulse << ' ' << ms(witness.reserved.lifetime) << ' '
      << ms(witness.reserved.wall) << ' ' << witness.boot << ' ' << witness.latches.size();
  for (const std::string& code : witness.latches) {
    out << ' ' << code;
  }
  if (mark != kFirstMark) {
    out << ' ' << witness.changes << ' ' << witness.wishes.size();
    for (const station::Wish& wish : witness.wishes) {
      out << ' ' << static_cast<int>(wish.what) << ' ' << microlitres(wish.volume) << ' '
          << ms(wish.lasting) << ' ' << ms(wish.asked.lifetime) << ' ' << ms(wish.asked.wall);
    }
  }
  out << ' ' << witness.home.machine << ' ' << witness.home.path;
  return files::with_sum(out.str());
}

}  // namespace

std::string Witness::to_line() const { return line_of(*this, kMark); }

std::optional<Witness> Witness::from_line(const std::string& line) {
  const auto body = files::body_of(line);
  if (!body) {
    return std::nullopt;
  }
  std::istringstream in(*body);
  std::string mark;
  std::int64_t lifetime = 0;
  std::int64_t wall = 0;
  Witness witness;
  in >> mark >> witness.newest_pulse >> lifetime >> wall >> witness.boot;
  witness.latches = latches_from(in);
  if (mark != kFirstMark) {
    in >> witness.changes;
    witness.wishes = wishes_from(in);
  }
  in >> witness.home.machine;
  in.get();
  std::getline(in, witness.home.path, '\0');  // a path may hold anything else
  witness.reserved = {duration_of(lifetime), wall_of(wall)};
  const bool ours = mark == kMark || mark == kFirstMark;
  return ours && line_of(witness, mark) == line ? std::optional{witness} : std::nullopt;
}

bool changes_witness(const station::Entry& entry) {
  return std::holds_alternative<station::AppendPulse>(entry) ||
         std::holds_alternative<station::StoreLatch>(entry) ||
         std::holds_alternative<station::StoreWish>(entry) ||
         std::holds_alternative<station::ForgetWish>(entry);
}

bool write_witness(const std::string& path, const Witness& witness) {
  return files::replace(path, witness.to_line());
}

std::optional<Witness> read_witness(const std::string& path) {
  const auto line = files::read(path);
  return line ? Witness::from_line(*line) : std::nullopt;
}

}  // namespace limegate::journal
