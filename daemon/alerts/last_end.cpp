#include "alerts/last_end.h"

#include <algorithm>
#include <chrono>
#include <sstream>

#include "files/whole_line.h"

namespace limegate::alerts {
namespace {

std::string path_in(const std::string& state_dir) { return state_dir + "/last-end"; }

/// The manager's words have no blanks; whatever else comes must not look like two words.
std::string one_word(std::string text) {
  std::replace_if(
      text.begin(), text.end(), [](unsigned char letter) { return letter <= 0x20U; }, '_');
  return text.empty() ? "-" : text.substr(0, 64);
}

}  // namespace

bool write_last_end(const std::string& state_dir, const std::string& result,
                    const std::string& status, WallTime now) {
  const auto stamp =
      std::chrono::duration_cast<std::chrono::microseconds>(now.time_since_epoch()).count();
  return files::replace(
      path_in(state_dir),
      files::with_sum(std::to_string(stamp) + " " + one_word(result) + " " + one_word(status)));
}

std::optional<LastEnd> read_last_end(const std::string& state_dir) {
  const auto text = files::read(path_in(state_dir));
  const auto body = text ? files::body_of(*text) : std::nullopt;
  if (!body) {
    return std::nullopt;
  }
  LastEnd end;
  std::istringstream words{*body};
  words >> end.stamp >> end.result >> end.status;
  return end.status.empty() ? std::nullopt : std::optional{end};
}

}  // namespace limegate::alerts
