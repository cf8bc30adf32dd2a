// The journal's record of readings and events, on which no dose depends.

#include <chrono>
#include <string>
#include <utility>

#include "app/journal_worker.h"
#include "app/state_dir.h"

namespace limegate::app {
namespace {

constexpr Duration kThinOutEvery = std::chrono::hours{1};

}  // namespace

station::Event record_set_aside(WallTime now, const std::string& aside) {
  return {now, station::Severity::alert, "record-set-aside",
          "The record of readings and events was damaged. It is kept as " + aside +
              " and begun anew; dosing goes on by the ledger, which is another file."};
}

journal::Stored<void> JournalWorker::open_readings(WallTime now) {
  if (!readings_) {
    auto opened = journal::Readings::open(readings_path(places_.state_dir), now);
    if (!opened) {
      return tl::unexpected(opened.error());
    }
    readings_.emplace(std::move(*opened));
    set_aside_as_ = readings_->set_aside_as();
  }
  return {};
}

JournalWorker::Events JournalWorker::take_unseen_now(WallTime now) {
  return open_readings(now) ? readings_->take_unseen().value_or(Events{}) : Events{};
}

journal::Stored<void> JournalWorker::write_rows(const Rows& rows, const Events& events,
                                                Moment now) {
  // Where the file was set aside just now, this is told, and what is written here counts.
  auto done = open_readings(now.wall);
  done = done ? readings_->append(rows, events) : done;
  // By a clock that nobody has set nothing is old: one ten years ahead would delete what is fresh.
  if (done && now.wall_trusted && (!thinned_at_ || now.mono - *thinned_at_ >= kThinOutEvery)) {
    thinned_at_ = now.mono;
    done = readings_->thin_out(now.wall, {});
  }
  if (!done && readings_) {
    readings_.reset();
    if (done.error().fault == journal::StorageFault::damaged) {
      // Opening does not read every page: it would be found sound, and fail again for ever.
      set_aside_as_ = journal::Readings::set_aside(readings_path(places_.state_dir), now.wall);
    }
  }
  using journal::StorageError;
  using journal::StorageFault;
  if (!set_aside_as_.empty()) {
    return tl::unexpected(StorageError{StorageFault::damaged, std::exchange(set_aside_as_, {})});
  }
  // One that can't be moved out of the way is not begun anew.
  return done || done.error().fault != StorageFault::damaged
             ? done
             : tl::unexpected(StorageError{StorageFault::io_error, done.error().text()});
}

}  // namespace limegate::app
