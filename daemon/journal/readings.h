#pragma once

#include <cstdint>
#include <functional>
#include <map>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "journal/database.h"
#include "journal/levels.h"
#include "station/history.h"
#include "station/records.h"
#include "units/time.h"

namespace limegate::journal {

/// One line of the record: what a station's probes showed at a moment. Absent = not good enough to
/// be written down as a number.
struct ReadingRow {
  WallTime at;
  std::string station;
  std::optional<double> ph;           ///< own scale
  std::optional<double> temperature;  ///< °C
  std::string ph_quality;             ///< "good", "uncertain", or the reason why it is bad
  std::string temperature_quality;
  bool gate_open = false;
  /// Beside them, by name: the second pH probe and the inputs of the owner's rules, as far as they
  /// are known.
  std::vector<std::pair<std::string, double>> more = {};
  /// For the next start in this boot of the machine.
  struct Seen {
    std::string boot;
    station::SeenBefore before;
  };
  std::optional<Seen> seen = {};
};

/// The readings and events. It is written in batches so that an SD card lives, thinned out with
/// age, and kept apart from the ledger: whatever happens to it, no dose depends on it.
/// Threads: one at a time (the journal's).   Errors: values.
class Readings {
 public:
  /// How long what is kept.
  struct Retention {
    Duration fine = std::chrono::hours{24 * 14};         ///< rows as they came
    Duration coarse = std::chrono::hours{24 * 365 * 5};  ///< sums of ten minutes and of two hours
    Duration events = std::chrono::hours{24 * 365};
  };

  /// Opens, or creates. A damaged file is set aside and begun anew.
  [[nodiscard]] static Stored<Readings> open(const std::string& path, WallTime now);

  /// Keeps a damaged file under another name, which is returned, so that it is begun anew when it
  /// is opened. Empty: it can't be moved.
  static std::string set_aside(const std::string& path, WallTime now);
  /// The name of the damaged file that was there when this was opened; empty: it was sound.
  [[nodiscard]] const std::string& set_aside_as() const { return set_aside_as_; }

  /// With the station of each; empty: the daemon itself.
  using Events = std::vector<std::pair<std::string, station::Event>>;
  /// Writes a batch in one transaction. After an error it is to be opened anew.
  [[nodiscard]] Stored<void> append(const std::vector<ReadingRow>& rows, const Events& events);

  /// What a run of this boot saw last of a station's pH, if it was written down.
  [[nodiscard]] Stored<std::optional<station::SeenBefore>> seen(const std::string& station,
                                                                const std::string& boot) const;

  /// The alerts that nobody had seen, as versions before 9 of the ledger kept them here; they are
  /// gone with it.
  [[nodiscard]] Stored<Events> take_unseen();

  struct Told {
    WallTime at;
    std::string station, code, sentence;
  };
  /// Alerts, what ended them, and what people said of them, oldest first, as another process may
  /// read it while a daemon writes.
  [[nodiscard]] static Stored<std::vector<Told>> alert_history(const std::string& path,
                                                               WallTime since);

  /// Drops what is past its time, once all that an older version left is in its sums: of what is
  /// older than `fine` the ten-minute sums stay (levels.h).
  [[nodiscard]] Stored<void> thin_out(WallTime now, const Retention& retention);

 private:
  explicit Readings(Database database) : database_(std::move(database)) {}
  [[nodiscard]] Stored<void> write(const std::vector<ReadingRow>& rows, const Events& events);
  [[nodiscard]] Stored<void> write(const Events& events);
  [[nodiscard]] Stored<void> write_inputs(const ReadingRow& row);
  [[nodiscard]] Stored<void> write(const std::string& station, const ReadingRow::Seen& seen);
  [[nodiscard]] Stored<void> sum_up();
  [[nodiscard]] Stored<void> in_transaction(const std::function<Stored<void>()>& write);
  Database database_;
  std::string set_aside_as_;
  Summing summing_ = Summing::goes_on;  ///< of what an older version left; or nobody has looked yet
  /// As written last, by station and name.
  std::map<std::pair<std::string, std::string>, std::pair<WallTime, std::optional<double>>> inputs_;
};

}  // namespace limegate::journal
