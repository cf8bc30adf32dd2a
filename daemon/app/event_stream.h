#pragma once

#include <functional>
#include <map>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "app/repetition.h"
#include "ports/clock.h"
#include "station/records.h"

namespace limegate::app {

/// Something that happened, and where.
struct Happened {
  std::string station;  ///< empty: the daemon itself
  station::Event event;
};

/// Everything that happens, as one stream: journal, log, MQTT, socket and screen say the same
/// sentence. What repeats too often is counted instead (Repetition).
/// Threads: the loop thread.
class EventStream {
 public:
  /// `each` hears of every event, also of one that is only counted: an alert may end with it.
  using Each = std::function<void(const std::string& station, const station::Event&)>;
  EventStream(const ports::Clock& clock, Each each) : clock_(clock), each_(std::move(each)) {}

  void raise(const std::string& station, const station::Event& event);
  /// Once a second: tells what was counted in windows that have ended.
  void tick();
  /// Tells what has been counted so far, at the end of the program.
  void tell_counts();

  /// Called with every event that is told from now on, and with the recent ones at once. A listener
  /// stays.
  using Listener = std::function<void(const Happened&)>;
  void listen(Listener listener);

  /// The newest events, oldest first; a hundred at most.
  [[nodiscard]] const std::vector<Happened>& recent() const { return recent_; }
  /// The last command to a station (empty: to the daemon) that was refused since the start. All of
  /// them count, told or not.
  [[nodiscard]] std::optional<station::Refusal> refused(const std::string& station) const;
  /// The last event of a station, or of the daemon, that was told.
  [[nodiscard]] std::optional<station::Event> last(const std::string& station) const;

  /// What the journal has not been given yet; and whether it should be given now.
  using Unwritten = std::vector<std::pair<std::string, station::Event>>;
  [[nodiscard]] Unwritten take_unwritten();
  [[nodiscard]] bool urgent() const { return urgent_; }
  void write_soon() { urgent_ = true; }

 private:
  void tell(const Happened& happened);
  void note_refusal(const std::string& station, const station::Refusal& refusal);

  const ports::Clock& clock_;
  Each each_;
  Repetition repetition_;
  std::vector<Happened> recent_;
  std::map<std::string, station::Refusal> refused_;
  std::map<std::string, station::Event> last_;
  std::vector<Listener> listeners_;
  Unwritten unwritten_;
  bool urgent_ = false;
};

}  // namespace limegate::app
