#pragma once

#include <functional>
#include <string>
#include <utility>
#include <vector>

#include "app/repetition.h"
#include "ports/clock.h"
#include "station/alerts.h"
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
  explicit EventStream(const ports::Clock& clock) : clock_(clock) {}

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

  /// What the journal has not been given yet; and whether it should be given now.
  using Unwritten = std::vector<std::pair<std::string, station::Event>>;
  [[nodiscard]] Unwritten take_unwritten();
  [[nodiscard]] bool urgent() const { return urgent_; }
  void write_soon() { urgent_ = true; }

  /// The alerts of the daemon itself.
  [[nodiscard]] station::Alerts& alerts() { return alerts_; }
  [[nodiscard]] const station::Alerts& alerts() const { return alerts_; }

 private:
  void tell(const Happened& happened);

  const ports::Clock& clock_;
  Repetition repetition_;
  std::vector<Happened> recent_;
  std::vector<Listener> listeners_;
  Unwritten unwritten_;
  bool urgent_ = false;
  station::Alerts alerts_;
};

}  // namespace limegate::app
