#pragma once

#include <chrono>
#include <optional>
#include <string>
#include <utility>

#include "care/book.h"
#include "station/station.h"

namespace limegate::station {

[[nodiscard]] inline Answer accepted(std::string sentence) {
  return {Answer::Verdict::accepted, std::move(sentence)};
}
[[nodiscard]] inline Answer refused(std::string sentence) {
  return {Answer::Verdict::refused, std::move(sentence)};
}

/// What a station makes of a command: from afar only less, at the station within every limit.
struct Station::Obeys {
  Station& station;
  Moment now;
  Origin origin;
  Effects& effects;

  Answer operator()(const Pause& pause) const;
  Answer operator()(const Resume& what) const;
  Answer operator()(const Release& release) const;
  Answer operator()(const Relearn& what) const;
  Answer operator()(const SwitchAllOff& what) const;
  Answer operator()(const ConfirmRate& rate) const;
  Answer operator()(const SetDayVolume& set) const;
  Answer operator()(const WriteEntry& write) const;
  Answer operator()(const UndoEntry& undo) const;
  Answer operator()(const StirNow& what) const;
  Answer operator()(const Service& service) const;
  Answer operator()(const Away& away) const;
  Answer operator()(const Back& what) const;
  Answer operator()(const RunAttended& run) const;

  /// Whether an entry tells of now, and not of what was: a pump or a charge of long ago says
  /// nothing of today's.
  [[nodiscard]] bool is_of_today(const std::optional<WallTime>& at) const {
    return now.wall - at.value_or(now.wall) < std::chrono::hours{24};
  }
  /// What an entry of the pump's rate did to the volume, as a sentence; empty: nothing.
  [[nodiscard]] std::string halved_by(care::Written row) const;
  /// What the end of a pause means, as the end of a sentence.
  [[nodiscard]] std::string after_pause(Origin by) const;
  /// What needs the ledger, and can't have it.
  [[nodiscard]] std::optional<Answer> unwritable() const {
    const auto& fault = station.recording_.fault();
    return fault ? std::optional{refused(rules::sentence_of(rules::LedgerNotWritable{*fault}))}
                 : std::nullopt;
  }
};

}  // namespace limegate::station
