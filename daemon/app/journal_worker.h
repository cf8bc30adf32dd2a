#pragma once

#include <atomic>
#include <chrono>
#include <functional>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include <boost/asio/io_context.hpp>
#include <boost/asio/thread_pool.hpp>

#include "guard/record.h"
#include "journal/ledger.h"
#include "journal/readings.h"
#include "journal/witness.h"
#include "shell/ledger_port.h"
#include "station/history.h"

namespace limegate::app {

/// That a damaged record of readings and events is kept under this name, and begun anew.
[[nodiscard]] station::Event record_set_aside(WallTime now, const std::string& aside);

/// Runs everything that touches the disk beside the loop, and answers there. The ledger and the
/// guards' records have a thread of their own, in order; nothing that a dose does not wait for
/// (readings, witnesses) ever stands in front of them. After any error the ledger is closed;
/// `reopen` reads it again before it is trusted.
/// Threads: the loop thread calls; replies come there, each exactly once.
class JournalWorker : public shell::LedgerPort {
 public:
  using Histories = std::map<std::string, station::History>;
  using LedgerJob = std::function<journal::Stored<void>(journal::Ledger&)>;
  using Done = std::function<void(journal::Stored<void>)>;
  /// Whether what is known outside the state directory is up to date.
  enum class Witnessed { yes, no };
  struct Opened {
    Histories histories;
    std::vector<std::string> notes;
    journal::AlertStore::Kept alerts;
    Duration lifetime_before_boot{};
    Witnessed witnessed = Witnessed::yes;
  };
  struct Places {
    std::string state_dir;
    std::string witness_dir;  ///< empty: nothing is kept there
  };

  /// `witnessed` is told, in the loop, what came of each later write there.
  JournalWorker(boost::asio::io_context& loop, Places places, std::vector<std::string> stations,
                std::function<void(Witnessed)> witnessed);
  ~JournalWorker() override;
  JournalWorker(const JournalWorker&) = delete;
  JournalWorker& operator=(const JournalWorker&) = delete;
  JournalWorker(JournalWorker&&) = delete;
  JournalWorker& operator=(JournalWorker&&) = delete;

  /// Blocks; for the start, before the loop runs.
  [[nodiscard]] journal::Stored<Opened> open_now(const journal::Boot& boot);
  void reopen(const journal::Boot& boot, const std::function<void(journal::Stored<Opened>)>& reply);

  void ledger(LedgerJob job, Done reply);
  void write(const std::string& station, const station::Entry& entry, WallTime now,
             Reply reply) override;

  /// To be called each second. Where nothing waits in the ledger's line, does a little of what
  /// keeps the ledger small (journal/past.h): a step takes the disk as long as one row does, and no
  /// row ever waits for more than one. Before the first and once a day the whole file is looked
  /// through, beside the record. `tell` hears sentences for people, or the error after which the
  /// ledger is closed.
  using Tell = std::function<void(journal::Stored<std::vector<std::string>>)>;
  void tidy(Moment now, const Tell& tell);

  using Rows = std::vector<journal::ReadingRow>;
  using Events = std::vector<std::pair<std::string, station::Event>>;
  void record(Rows rows, Events events, Moment now, Done reply);
  /// What nobody had seen, of a version that kept it beside the record. Blocks; for the start,
  /// before the loop runs.
  [[nodiscard]] Events take_unseen_now(WallTime now);

  /// Where a station's guard keeps its record.
  [[nodiscard]] std::string guard_path(const std::string& station) const;
  void save(const std::string& station, const guard::Record& record,
            guard::RecordStore::Reply reply);

  /// Jobs whose reply has not been delivered.
  [[nodiscard]] int outstanding() const { return ledger_line_.waiting + record_line_.waiting; }
  /// Whether jobs of the ledger have waited without any answer for longer than this, by the real
  /// clock: the disk hangs.
  [[nodiscard]] bool stalled(std::chrono::steady_clock::duration longer_than) const;

 private:
  /// What one thread has to do, in order.
  struct Line {
    int waiting = 0;
    std::chrono::steady_clock::time_point moved{};  ///< when a job was begun or answered last
    boost::asio::thread_pool thread{1};
  };
  using Seen = std::map<std::string, station::SeenBefore>;
  /// Absent: the ledger could not say.
  using Witnesses = std::map<std::string, std::optional<journal::Witness>>;

  /// Runs `job` in that thread and `reply(result)` in the loop.
  template <class Job, class Answer>
  void run(Line& line, Job job, Answer reply);
  [[nodiscard]] journal::Stored<Opened> open(const journal::Boot& boot, const Seen& seen);
  [[nodiscard]] Seen seen(const journal::Boot& boot);
  [[nodiscard]] Witnesses known_of(const std::vector<std::string>& stations) const;
  [[nodiscard]] Witnessed write_witnesses(const Witnesses& known) const;
  void look_through(Moment now, const Tell& tell);
  void tidy_once(Moment now, const Tell& tell);
  [[nodiscard]] journal::Stored<void> open_readings(WallTime now);
  [[nodiscard]] journal::Stored<void> write_rows(const Rows& rows, const Events& events,
                                                 Moment now);

  boost::asio::io_context& loop_;
  Places places_;
  std::vector<std::string> stations_;
  std::function<void(Witnessed)> witnessed_;
  // Only the ledger's thread touches it once the loop runs.
  std::optional<journal::Ledger> ledger_;
  std::optional<Duration> lifetime_before_;  ///< as the ledger said that was open in this run
  // Only the record's thread touches these once the loop runs.
  std::optional<journal::Readings> readings_;
  std::string set_aside_as_;  ///< the damaged one, until that is told; of the record's thread
  std::optional<Instant> thinned_at_;
  Line ledger_line_, record_line_;
  // What the loop knows of keeping the ledger small.
  std::optional<Instant> next_look_, next_step_;
  bool looking_ = false;
  std::atomic<bool> leaving_{false};  ///< a look is given up
};

/// The part of the worker that one guard sees.
class GuardStore : public guard::RecordStore {
 public:
  GuardStore(JournalWorker& worker, std::string station)
      : worker_(worker), station_(std::move(station)) {}
  void save(const guard::Record& record, Reply reply) override {
    worker_.save(station_, record, std::move(reply));
  }

 private:
  JournalWorker& worker_;
  std::string station_;
};

}  // namespace limegate::app
