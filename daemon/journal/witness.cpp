#include "journal/witness.h"

#include <sstream>

#include "files/whole_line.h"
#include "journal/stored_units.h"

namespace limegate::journal {
namespace {

constexpr const char* kMark = "limegate-witness-1";
/// More is no line of ours.
constexpr std::size_t kLatchesMax = 1000;

}  // namespace

std::string Witness::to_line() const {
  std::ostringstream out;
  out << kMark << ' ' << newest_pulse << ' ' << ms(reserved.lifetime) << ' ' << ms(reserved.wall)
      << ' ' << boot << ' ' << latches.size();
  for (const std::string& code : latches) {
    out << ' ' << code;
  }
  out << ' ' << home.machine << ' ' << home.path;
  return files::with_sum(out.str());
}

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
  std::size_t count = 0;
  in >> mark >> witness.newest_pulse >> lifetime >> wall >> witness.boot >> count;
  while (in && count <= kLatchesMax && witness.latches.size() < count) {
    in >> witness.latches.emplace_back();
  }
  in >> witness.home.machine;
  in.get();
  std::getline(in, witness.home.path, '\0');  // a path may hold anything else
  witness.reserved = {duration_of(lifetime), wall_of(wall)};
  return mark == kMark && witness.to_line() == line ? std::optional{witness} : std::nullopt;
}

bool write_witness(const std::string& path, const Witness& witness) {
  return files::replace(path, witness.to_line());
}

std::optional<Witness> read_witness(const std::string& path) {
  const auto line = files::read(path);
  return line ? Witness::from_line(*line) : std::nullopt;
}

}  // namespace limegate::journal
