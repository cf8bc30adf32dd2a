#pragma once

#include <deque>
#include <functional>
#include <map>
#include <memory>
#include <optional>
#include <random>
#include <set>
#include <string>
#include <vector>

#include <boost/asio/io_context.hpp>
#include <boost/asio/thread_pool.hpp>

#include "alerts/book.h"
#include "alerts/destination.h"
#include "alerts/teller.h"
#include "delivery/attempt.h"
#include "delivery/watch.h"
#include "journal/delivery_queue.h"
#include "ports/clock.h"

namespace limegate::delivery {

/// Fetches messages from the daemon, keeps them on disk and brings them to their destinations, each
/// at least once and in order. What it can't deliver for long it tells on the other ways.
/// Threads: the loop thread; each destination has one of its own for its attempts.
class Courier {
 public:
  struct Parts {
    boost::asio::io_context& loop;
    const ports::Clock& clock;
    journal::DeliveryQueue& queue;
    std::string source;  ///< of its own messages
    /// What the daemon has; absent: it does not answer.
    struct News {
      std::vector<std::string> events;
      std::set<std::string> unseen;
      bool all_well = false;  ///< no alert stands, seen or not
    };
    std::function<std::optional<News>(const std::string& after)> fetch;
    std::function<std::optional<Watch::End>()> last_end;
    std::function<Attempt(const alerts::Destination&, const Envelope&, const std::string& event)>
        attempt;
    std::function<void(const std::string& line, bool good)> log;
    /// Puts it into the daemon's book. False: it does not take it, or does not answer.
    std::function<bool(const station::Event&)> tell_daemon;
  };
  Courier(const alerts::Delivery& settings, Parts parts);
  ~Courier();
  Courier(const Courier&) = delete;
  Courier& operator=(const Courier&) = delete;
  Courier(Courier&&) = delete;
  Courier& operator=(Courier&&) = delete;

  /// A few times a second: each brings one message to each destination that is free.
  void tick();
  /// An attempt is under way.
  [[nodiscard]] bool busy() const;

 private:
  struct Way {
    alerts::Destination destination;
    std::unique_ptr<boost::asio::thread_pool> thread;
    bool busy = false;
    int failures = 0;  ///< in a row
    std::optional<Instant> not_before = {}, fails_since = {};
    std::optional<station::Event> stuck = {};  ///< as it was told that it fails for long
    bool full = false;                         ///< as it was told then
    std::optional<Instant> stuck_told_at = {};
    std::string last_line = {};
  };
  void look(Moment now);
  void take(const std::string& event, Moment now);
  void take_all(const Parts::News& news, Moment now);
  void serve(Way& way, Moment now);
  void ended(Way& way, const journal::DeliveryQueue::Waiting& what, const Attempt& attempt);
  void failed(Way& way, const Attempt& attempt, Moment now);
  void tell_if_stuck(Way& way, Moment now);
  void tell_own(Moment now);
  void raise(const station::Event& event, Moment now);
  void tell_daemon(Moment now);
  void note(const journal::Stored<void>& done);
  void note_added(const journal::Stored<bool>& added);
  [[nodiscard]] bool seen_by_now(const Way& way, const Envelope& envelope) const;
  [[nodiscard]] bool ends_what_it_told(const Way& way, const Envelope& envelope) const;
  [[nodiscard]] Duration back_off(int failures);
  [[nodiscard]] alerts::When when(Moment now) const;

  alerts::Delivery settings_;
  Parts parts_;
  std::vector<Way> ways_;
  Watch watch_;
  alerts::Book own_;
  alerts::Teller teller_;
  std::string newest_;
  std::set<std::string> unseen_;
  bool all_well_ = false;   ///< by the daemon's word
  bool caught_up_ = false;  ///< the daemon has answered once
  bool answers_ = false;
  struct Untold {
    station::Event event;
    Instant since;
  };
  std::deque<Untold> for_daemon_;  ///< it did not answer so far
  std::optional<Instant> next_look_, next_beat_, next_tidy_;
  std::optional<std::int64_t> well_told_on_;  ///< day since 1970, local
  bool beating_ = false;
  std::unique_ptr<boost::asio::thread_pool> beat_thread_;
  std::mt19937 random_;
  bool queue_faulty_ = false;
};

}  // namespace limegate::delivery
