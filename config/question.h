#pragma once

#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "config/config.h"

namespace limegate::config {

/// Something in a file that is allowed and seldom meant. `limegate check` asks; a person's answer
/// is the question's id in `confirmed`.
struct Question {
  std::string id;        ///< stable: a file that answers it must go on answering it
  std::string key;       ///< what it is about: "station.reef.water_volume_l"
  std::string sentence;  ///< what the program found, with its numbers, and what is usual
  std::string answer;    ///< the line that answers it, and where it belongs
};

/// A row of the one table of questions.
struct QuestionRow {
  using OfStation = std::optional<std::string> (*)(const Config&, const Station&);
  using OfDaemon = std::optional<std::string> (*)(const Config&);

  const char* id;
  const char* key;   ///< below its station, or whole where it is the daemon's
  const char* when;  ///< for the manual: on what it is asked
  /// The sentence, if it has to be asked. Those of the daemon look at the file system.
  std::variant<OfStation, OfDaemon> asks;
};

/// All of them, in the order in which they are asked.
[[nodiscard]] const std::vector<QuestionRow>& question_rows();

/// What `confirmed` of a station, or of [daemon], may hold.
[[nodiscard]] std::vector<std::string> station_question_ids();
[[nodiscard]] std::vector<std::string> daemon_question_ids();

struct Questions {
  std::vector<Question> open;         ///< not answered
  std::vector<std::string> warnings;  ///< of each answer that nobody asked for
};

/// Of a valid file. Blocks on the file system.
[[nodiscard]] Questions questions_of(const Config& config);

}  // namespace limegate::config
