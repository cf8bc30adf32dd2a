#include "app/journal_worker.h"

#include <chrono>
#include <cstdint>
#include <filesystem>
#include <system_error>
#include <utility>
#include <variant>

#include <boost/asio/executor_work_guard.hpp>
#include <boost/asio/post.hpp>

#include "app/state_dir.h"
#include "app/switched_off.h"
#include "shell/second_copy.h"

namespace limegate::app {
namespace {

/// More than this many jobs in line means that the disk does not keep up; then nothing is promised.
constexpr int kOutstandingMax = 512;
/// With less room than this a ledger that can just be written fails again within minutes.
constexpr std::uintmax_t kRoomLeast = std::uintmax_t{256} * 1024;
constexpr Duration kThinOutEvery = std::chrono::hours{1};

}  // namespace

JournalWorker::JournalWorker(boost::asio::io_context& loop, Places places,
                             std::vector<std::string> stations,
                             std::function<void(Witnessed)> witnessed)
    : loop_(loop),
      places_(std::move(places)),
      stations_(std::move(stations)),
      witnessed_(std::move(witnessed)) {}

JournalWorker::~JournalWorker() { thread_.join(); }

template <class Job, class Answer>
void JournalWorker::run(Job job, Answer reply) {
  if (++outstanding_ == 1) {
    moved_ = std::chrono::steady_clock::now();
  }
  boost::asio::post(thread_, [this, job = std::move(job), reply = std::move(reply),
                              work = boost::asio::make_work_guard(loop_)]() mutable {
    auto result = job();
    boost::asio::post(loop_, [this, reply = std::move(reply), result = std::move(result)] {
      --outstanding_;
      moved_ = std::chrono::steady_clock::now();
      reply(result);
    });
  });
}

bool JournalWorker::stalled(std::chrono::steady_clock::duration longer_than) const {
  return outstanding_ > 0 && std::chrono::steady_clock::now() - moved_ > longer_than;
}

journal::Stored<JournalWorker::Opened> JournalWorker::open(const journal::Boot& boot) {
  ledger_.reset();
  std::error_code unknown;
  if (const auto space = std::filesystem::space(places_.state_dir, unknown);
      !unknown && space.available < kRoomLeast) {
    return tl::unexpected(
        journal::StorageError{journal::StorageFault::no_room, "less than 256 KiB are free"});
  }
  std::vector<journal::Beside> beside;
  for (const std::string& station : stations_) {
    beside.push_back({station, shell::second_copy_of(guard::read_record(guard_path(station))),
                      journal::read_witness(witness_path(places_.witness_dir, station))});
  }
  auto ledger = journal::Ledger::open(ledger_path(places_.state_dir), beside,
                                      {boot.id, boot.now, home_of(places_.state_dir)});
  if (!ledger) {
    return tl::unexpected(ledger.error());
  }
  Opened opened;
  for (const std::string& station : stations_) {
    auto history = ledger->history(station, boot);
    if (!history) {
      return tl::unexpected(history.error());
    }
    history->seen = seen(station, boot);
    history->pump_switched_off = switched_off(places_.state_dir, station, boot.id);
    opened.histories.emplace(station, std::move(*history));
  }
  if (auto proved = ledger->prove_writable(); !proved) {
    return tl::unexpected(proved.error());
  }
  opened.notes = ledger->notes();
  ledger_.emplace(std::move(*ledger));
  if (!places_.witness_dir.empty()) {
    std::error_code ignored;  // what can't be made can't be written either
    std::filesystem::create_directories(places_.witness_dir, ignored);
    for (const std::string& station : stations_) {
      if (witness(station) == Witnessed::no) {
        opened.witnessed = Witnessed::no;
      }
    }
  }
  return opened;
}

std::optional<station::SeenBefore> JournalWorker::seen(const std::string& station,
                                                       const journal::Boot& boot) {
  if (!readings_) {
    auto opened = journal::Readings::open(readings_path(places_.state_dir), boot.now.wall);
    if (!opened) {
      return std::nullopt;  // then it is unknown, and told when readings are written
    }
    readings_.emplace(std::move(*opened));
  }
  return readings_->seen(station, boot.id).value_or(std::nullopt);
}

JournalWorker::Witnessed JournalWorker::witness(const std::string& station) const {
  if (!ledger_) {
    return Witnessed::yes;  // it failed, so there is nothing new to tell
  }
  const auto known = ledger_->witness_of(station);
  return known && journal::write_witness(witness_path(places_.witness_dir, station), *known)
             ? Witnessed::yes
             : Witnessed::no;
}

journal::Stored<JournalWorker::Opened> JournalWorker::open_now(const journal::Boot& boot) {
  return open(boot);
}

void JournalWorker::reopen(const journal::Boot& boot,
                           std::function<void(journal::Stored<Opened>)> reply) {
  run([this, boot] { return open(boot); }, std::move(reply));
}

void JournalWorker::ledger(LedgerJob job, Done reply) {
  run(
      [this, job = std::move(job),
       late = outstanding_ > kOutstandingMax]() -> journal::Stored<void> {
        if (!ledger_ || late) {
          return tl::unexpected(journal::StorageError{
              journal::StorageFault::io_error,
              late ? "the disk does not keep up" : "the ledger is closed after a fault"});
        }
        auto done = job(*ledger_);
        if (!done) {
          ledger_.reset();
        }
        return done;
      },
      std::move(reply));
}

void JournalWorker::write(const std::string& station, const station::Entry& entry, WallTime now,
                          Reply reply) {
  ledger(
      [station, entry, now](journal::Ledger& ledger) { return ledger.write(station, entry, now); },
      [reply = std::move(reply)](const journal::Stored<void>& done) {
        reply(done ? std::nullopt
                   : std::optional{std::string{done.error().what()} + ": " + done.error().detail});
      });
  // A job of its own behind it: the pulse does not wait for it.
  if (!places_.witness_dir.empty() && (std::holds_alternative<station::AppendPulse>(entry) ||
                                       std::holds_alternative<station::StoreLatch>(entry))) {
    run([this, station] { return witness(station); }, witnessed_);
  }
}

journal::Stored<void> JournalWorker::write_rows(const Rows& rows, const Events& events,
                                                WallTime now) {
  if (!readings_) {
    auto opened = journal::Readings::open(readings_path(places_.state_dir), now);
    if (!opened) {
      return tl::unexpected(opened.error());
    }
    readings_.emplace(std::move(*opened));
  }
  auto done = readings_->append(rows, events);
  if (done && (!thinned_at_ || now - *thinned_at_ >= kThinOutEvery || now < *thinned_at_)) {
    thinned_at_ = now;
    done = readings_->thin_out(now, {});
  }
  if (!done) {
    readings_.reset();
    if (done.error().fault == journal::StorageFault::damaged) {
      // Opening does not read every page: it would be found sound, and fail again for ever.
      journal::Readings::set_aside(readings_path(places_.state_dir), now);
    }
  }
  return done;
}

void JournalWorker::record(Rows rows, Events events, WallTime now, Done reply) {
  run([this, rows = std::move(rows), events = std::move(events),
       now] { return write_rows(rows, events, now); },
      std::move(reply));
}

std::string JournalWorker::guard_path(const std::string& station) const {
  return app::guard_path(places_.state_dir, station);
}

void JournalWorker::save(const std::string& station, const guard::Record& record,
                         guard::RecordStore::Reply reply) {
  run([path = guard_path(station), record] { return guard::write_record(path, record); },
      std::move(reply));
}

}  // namespace limegate::app
