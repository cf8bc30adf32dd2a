#pragma once

#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include <boost/asio/io_context.hpp>

#include "app/alert_desk.h"
#include "app/event_stream.h"
#include "app/journal_worker.h"
#include "app/meaning.h"
#include "app/pace.h"
#include "app/rehearsed_past.h"
#include "config/config.h"
#include "ports/bus.h"
#include "shell/station_shell.h"

namespace limegate::app {

/// Everything the daemon is made of: buses, journal and stations, wired from a checked config.
/// Threads: the loop thread.
class World {
 public:
  /// Blocks while the ledger is opened and checked. The state directory must be this daemon's own.
  /// A simulated station goes on with its tank of `tanks`, or begins with a new one.
  World(boost::asio::io_context& loop, const config::Config& config, const Pace& pace,
        const Tanks& tanks);

  /// Once a second: every station's step, then the next poll of every bus that has answered.
  void tick();
  /// The pH of stations whose pump may run, again: closing is quick.
  void quick_poll();
  [[nodiscard]] bool wants_quick_polls() const;

  /// Nothing is under way: every command, poll and write has been answered.
  [[nodiscard]] bool idle() const;

  /// Switches everything off; replies whether all outlets are confirmed to be off.
  void stop(const std::function<void(bool)>& reply);

  /// Whether an outlet that may be on is long due off, and the bus that it hangs on gives no sign
  /// of life: no step is complete then, and only another process can switch it.
  [[nodiscard]] bool end_overdue() const;
  /// Whether any bus hangs: this world can't be taken apart then.
  [[nodiscard]] bool any_bus_hangs() const;
  /// Whether every command to an outlet has been answered.
  [[nodiscard]] bool outlets_idle() const;

  /// Everything a surface may show, as of now.
  [[nodiscard]] station::Overview overview() const;

  /// Where a command came from, for the record: "socket, user keeper".
  struct Sender {
    station::Origin origin;
    std::string who;
  };
  /// Judges a command to a station (or to the daemon itself: an empty name, and only about its
  /// alerts) and carries it out. Every command is an event, with its sender and what came of it.
  station::Answer command(const std::string& station, const alerts::Asked& command,
                          const Sender& sender);

  /// A value of an input of the owner's rules that came from elsewhere; `station` by the config's
  /// order, `input` by its rulebook.
  void observe_input(std::size_t station, std::size_t input, double value) {
    shells_[station]->observe(station::InputSample{input, value});
  }
  /// The keeper's book of a station; an empty name is the only one there is. Null: there is none.
  [[nodiscard]] const station::KeepersBook* book(const std::string& station) const;

  /// What limegate-deliver found out, as of now.
  void found_by_delivery(station::Event event);
  /// Everything that happens; a surface may raise what it has to tell of itself.
  [[nodiscard]] EventStream& events() { return events_; }
  [[nodiscard]] const EventStream& events() const { return events_; }

  /// Alerts, and the messages about them.
  [[nodiscard]] AlertDesk& alerts() { return alerts_; }
  /// Hears of each message that is to be delivered, as a CloudEvent in JSON.
  void on_message(std::function<void(const std::string& event)> heard) {
    on_message_ = std::move(heard);
  }

 private:
  struct Probe {
    std::size_t shell;
    Meaning meaning;
    std::string place;                     ///< for people
    std::optional<ports::BusFault> fault;  ///< of its last answer
    std::size_t input = 0;                 ///< index in the rulebook of the owner's rules
    std::string input_name = {};
  };
  struct Line {
    std::string name;  ///< of the bus, as in the owner's file
    std::unique_ptr<ports::Bus> bus;
    std::vector<Probe> probes;
    std::vector<std::size_t> all, gating;  ///< indices into `probes`
    bool outstanding = false, silence_told = false;
    Instant next_poll{};
    std::optional<Instant> silent_since = {};  ///< not one of its probes answers
  };

  void build(const config::Config& config, const Tanks& tanks);
  void build_simulated(const config::Station& station, const Tanks& tanks);
  void build_gpio(const config::Config& config);
  void build_simulated_inputs(const config::Station& station, std::size_t shell);
  struct Outlets {
    std::unique_ptr<ports::Outlet> pump, stirrer;
    std::vector<const ports::Bus*> buses;  ///< that they hang on
  };
  std::size_t add_shell(const config::Station& station, Outlets outlets);
  void open_ledger();
  void poll(Line& line, const std::vector<std::size_t>& probes);
  void take(Line& line, const std::vector<ports::Sample>& samples);
  void note_fault(const Line& line, Probe& probe, std::optional<ports::BusFault> fault);
  [[nodiscard]] static std::string name_of(const Probe& probe);
  void note_silence(Line& line);
  void ledger_failed(const std::string& why);
  void recover_ledger();
  void note_clock();
  void keep_ledger_small();
  void record();
  [[nodiscard]] std::string cost_of(const alerts::Record& alert) const;
  void note_record(const std::optional<std::string>& fault);
  void note_witness(JournalWorker::Witnessed witnessed);
  void raise(const std::string& station, const station::Event& event) {
    events_.raise(station, event);
  }
  [[nodiscard]] station::Answer obey(const std::string& station, const alerts::Asked& asked,
                                     const Sender& sender);
  [[nodiscard]] journal::Boot boot() const;

  boost::asio::io_context& loop_;
  const Pace& pace_;
  Duration poll_every_;
  Duration record_every_;
  WallTime started_;
  Instant started_mono_;
  bool clock_told_ = false;  ///< that nobody set it
  JournalWorker journal_;
  AlertDesk alerts_;
  EventStream events_;
  std::vector<Line> lines_;
  std::vector<std::unique_ptr<shell::StationShell>>
      shells_;  // after lines_: outlets go before buses
  std::vector<std::vector<const ports::Bus*>> outlet_buses_;  ///< of each shell
  std::optional<std::string> ledger_fault_;                   ///< why it can't be written
  bool witness_faulty_ = false, record_told_ = false;
  std::optional<Instant> record_fails_since_;
  std::function<void(const std::string& event)> on_message_;
  bool reopening_ = false;
  Instant next_reopen_{};
  Instant next_record_{};
  Instant next_flush_{};
  JournalWorker::Rows rows_;
};

}  // namespace limegate::app
