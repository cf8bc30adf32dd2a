#pragma once

#include <optional>
#include <string>
#include <vector>

#include "care/powder.h"
#include "care/upkeep.h"
#include "rules/hold.h"
#include "rules/owner_rule.h"
#include "rules/snapshot.h"
#include "signal/dose_response.h"
#include "signal/reading.h"
#include "station/alert.h"
#include "station/attended.h"
#include "station/command.h"
#include "station/history.h"
#include "station/missing.h"
#include "station/pump_duty.h"
#include "station/records.h"
#include "units/quantities.h"
#include "units/time.h"

namespace limegate::station {

/// For records and screens: "off", "about-to-run", "running", "ending".
[[nodiscard]] const char* name_of(PumpDuty::Phase phase);

/// Everything a surface may show of a station, as of one moment. Plain data; never changed.
struct Status {
  struct Held {
    std::string code;
    std::string sentence;
    rules::Clears clears;
    WallTime since;
  };
  std::string station;
  Moment at;
  signal::Reading ph;
  std::optional<signal::Reading> second_ph;  ///< absent: there is no second probe
  signal::Reading temperature;
  std::vector<rules::InputShown> inputs;  ///< of the owner's rules
  std::optional<Ph> usual_ph;             ///< at this time of day; absent until it is learned
  int usual_course_days_to_go = 0;
  std::optional<Ph> ph_ceiling;  ///< above it nothing is given
  /// What doses do to pH, as a share of what chemistry expects; absent until it is learned.
  std::optional<double> usual_effect;
  int usual_effect_days_to_go = 0;
  std::optional<signal::DoseResponse::Share> effect_today;  ///< of the last day, by chemistry
  std::optional<Ph> reference;  ///< of undosed days; absent: a rise can't be judged
  std::optional<PhChange> above_reference;
  double volume_share = 1.0;  ///< of the day's volume, below one while it is eased
  /// The newest test of it in the keeper's book. Absent: there is none.
  struct Tested {
    Dkh level;
    WallTime at;
    enum class Counts { yes, no } counts;  ///< whether volumes are sized by it: it may be too old
  };
  std::optional<Tested> alkalinity = {};
  std::vector<care::UpkeepItem> upkeep;  ///< every chore; empty before the first step
  std::optional<care::Powder> powder;    ///< left in the reactor; absent: not known
  bool gate_open = false;
  std::vector<Held> holds;
  PumpDuty::Phase pump = PumpDuty::Phase::resting;
  rules::StirrerKnown::State stirrer = rules::StirrerKnown::State::unknown;
  /// Read back since they were last to go off, and lately. An observed stirrer never is.
  bool pump_confirmed_off = false, stirrer_confirmed_off = false;
  Millilitres pulse_volume;
  Millilitres given_hour, hour_limit;
  Millilitres given_day, day_limit;
  std::optional<History::Given> last_given;  ///< the newest pulse of which something was
  std::optional<Millilitres> given_in_all;   ///< by closed pulses; only rises; absent: not known
  std::optional<AttendedRun::Shown> attended_run = {};
  std::optional<Duration> next_pulse_in;  ///< if nothing holds it
  /// Where that is not planned yet: no pulse comes earlier than this. Absent: nobody knows.
  std::optional<Duration> next_window_in;
  Duration next_stir_in{};
  Millilitres day_volume;             ///< what is given each day, as set last
  Millilitres day_volume_at_station;  ///< as set at the station: the most that afar may set
  Millilitres day_volume_in_force;    ///< of `day_volume`: halved as `halved` says
  std::string halved;                 ///< why, and what to do; empty while it is not
  Duration pause_remaining{};         ///< of all of them; zero: not paused
  struct Paused {
    Origin by;
    WallTime until;
  };
  std::vector<Paused> pauses;  ///< each goes on by itself
  bool in_service = false;     ///< a person works at the reactor, and it is paused for that
  struct Away {
    WallTime until;
    Millilitres volume;  ///< a day
  };
  std::optional<Away> away = {};
  Missing missing;  ///< since the last pulse
  std::vector<Alert> alerts;
  std::optional<Refusal> refused;   ///< the last command that was, since the start
  std::optional<Event> last_event;  ///< that was told, since the start
};

/// The connection to the broker, as every surface shows it.
struct MqttState {
  std::string broker;      ///< "HOST:PORT"
  bool connected = false;  ///< and the whole tree stands there
  WallTime since;          ///< it is so
  std::string last_fault;  ///< in half a sentence; empty: there was none since the start
  std::optional<WallTime> last_fault_at;
};

/// The whole daemon as of one moment: what MQTT, socket and page show. Never changed.
struct Overview {
  Moment at;
  WallTime started;
  std::vector<Alert> alerts;  ///< of the daemon itself; a station's are with the station
  std::vector<Status> stations;
  std::optional<Refusal> refused = {};  ///< of commands to the daemon itself, as with a station
  std::optional<Event> last_event = {};
  std::optional<MqttState> mqtt = {};  ///< absent: the file has none
};

}  // namespace limegate::station
