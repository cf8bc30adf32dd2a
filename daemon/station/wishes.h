#pragma once

#include <algorithm>
#include <optional>
#include <vector>

#include "dosing/account.h"
#include "station/command.h"
#include "station/effects.h"
#include "station/history.h"
#include "units/quantities.h"
#include "units/time.h"

namespace limegate::station {

/// What the keeper asked for beside the file: pauses and the day's volume, from the station and
/// from afar, work at the reactor, and being away, kept over restarts. From afar neither more
/// volume nor an earlier end of the station's pause can be had.
class Wishes {
 public:
  /// `in_file` is the day's volume of the owner's file. A volume that was set under another file is
  /// forgotten: the file was written at the station, and later.
  Wishes(Millilitres in_file, const std::vector<Wish>& known, dosing::Stamp today, Instant now);

  struct Moments {
    Instant now;
    dosing::Stamp today;
  };
  void pause(Moments at, Duration lasting, Origin origin, Effects& effects);
  /// At the station this ends work at the reactor, too.
  void resume(Instant now, Origin origin, Effects& effects);
  /// Absent = not paused from there. Work at the reactor is a pause at the station.
  [[nodiscard]] std::optional<Instant> paused_until(Origin origin) const;
  [[nodiscard]] std::optional<Instant> paused_until() const;

  /// A person works at the reactor for so long, whatever is said of pauses meanwhile.
  void serve(Moments at, Duration lasting, Effects& effects);
  [[nodiscard]] const std::optional<Instant>& service_until() const { return service_until_; }
  /// Once a second: whether that work has just ended. Then `served` says that what follows from it
  /// was written down.
  [[nodiscard]] bool service_is_over(Instant now) const {
    return service_until_ && *service_until_ <= now;
  }
  void served(Effects& effects);

  struct AwayUntil {
    Instant until;
    Millilitres volume;  ///< a day
  };
  void leave(Moments at, Duration lasting, Millilitres volume, Effects& effects);
  /// Ends it; so does its time, once a second.
  void come_back(dosing::Stamp today, Effects& effects);
  [[nodiscard]] const std::optional<AwayUntil>& away() const { return away_; }

  /// All of it again, for a ledger that could not be written meanwhile.
  void restate(Moments at, Effects& effects) const;

  void set_day_volume(Moments at, Millilitres volume, Origin origin, Effects& effects);
  /// A day's: what is asked for now, as set at the station last, as in the file.
  struct Volumes {
    Millilitres now, at_station, in_file;
  };
  [[nodiscard]] Volumes volumes() const { return {day_volume(), day_volume_at_station_, in_file_}; }
  [[nodiscard]] Millilitres day_volume() const {
    return std::min(from_afar_.value_or(day_volume_at_station_), wished());
  }
  /// By the keeper: as set at the station, or less while away.
  [[nodiscard]] Millilitres wished() const {
    return away_ ? std::min(away_->volume, day_volume_at_station_) : day_volume_at_station_;
  }
  [[nodiscard]] Millilitres in_file() const { return in_file_; }
  /// When a day's volume was asked for last, if one was.
  [[nodiscard]] const std::optional<dosing::Stamp>& volume_asked() const { return volume_asked_; }
  [[nodiscard]] Millilitres day_volume_at_station() const { return day_volume_at_station_; }

 private:
  void store_volume(Moments at, Wish::What what, Millilitres volume, Effects& effects) const;

  Millilitres in_file_;
  Millilitres day_volume_at_station_;
  std::optional<Millilitres> from_afar_;
  std::optional<dosing::Stamp> volume_asked_;
  std::optional<Instant> station_pause_, afar_pause_, service_until_;
  std::optional<AwayUntil> away_;
};

}  // namespace limegate::station
