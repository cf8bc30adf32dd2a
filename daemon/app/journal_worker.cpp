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
constexpr const char* kTooMuch = "the disk does not keep up";
/// With less room than this a ledger that can just be written fails again within minutes.
constexpr std::uintmax_t kRoomLeast = std::uintmax_t{256} * 1024;
/// A start has enough to do.
constexpr Duration kFirstLookAfter = std::chrono::minutes{10};
constexpr Duration kLookEvery = std::chrono::hours{24};
/// When nothing is left to do. A batch of what six hours bring costs the disk less than each row.
constexpr Duration kTidyEvery = std::chrono::hours{6};
/// A step is followed by so many times its own length: on a slow disk a row that came behind one
/// would be too late, so few may.
constexpr int kRestsForSteps = 50;

tl::unexpected<journal::StorageError> io_error(const char* why) {
  return tl::unexpected(journal::StorageError{journal::StorageFault::io_error, why});
}

std::vector<std::string> past_damaged(const journal::StorageError& error) {
  return {"The ledger's file is damaged where no start reads it (" + error.detail +
          "). Dosing goes on; old pulses are not summed up any more, so the file grows. Look after "
          "the disk."};
}

}  // namespace

JournalWorker::JournalWorker(boost::asio::io_context& loop, Places places,
                             std::vector<std::string> stations,
                             std::function<void(Witnessed)> witnessed)
    : loop_(loop),
      places_(std::move(places)),
      stations_(std::move(stations)),
      witnessed_(std::move(witnessed)) {}

JournalWorker::~JournalWorker() {
  leaving_ = true;
  ledger_line_.thread.join();
  record_line_.thread.join();
}

template <class Job, class Answer>
void JournalWorker::run(Line& line, Job job, Answer reply) {
  if (++line.waiting == 1) {
    line.moved = std::chrono::steady_clock::now();
  }
  boost::asio::post(line.thread, [this, &line, job = std::move(job), reply = std::move(reply),
                                  work = boost::asio::make_work_guard(loop_)]() mutable {
    auto result = job();
    boost::asio::post(loop_, [&line, reply = std::move(reply), result = std::move(result)] {
      --line.waiting;
      line.moved = std::chrono::steady_clock::now();
      reply(result);
    });
  });
}

bool JournalWorker::stalled(std::chrono::steady_clock::duration longer_than) const {
  return ledger_line_.waiting > 0 &&
         std::chrono::steady_clock::now() - ledger_line_.moved > longer_than;
}

journal::Stored<JournalWorker::Opened> JournalWorker::open(const journal::Boot& boot,
                                                           const Seen& seen) {
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
  auto ledger =
      journal::Ledger::open(ledger_path(places_.state_dir), beside,
                            {boot.id, boot.now, home_of(places_.state_dir), lifetime_before_});
  if (!ledger) {
    return tl::unexpected(ledger.error());
  }
  Opened opened;
  for (const std::string& station : stations_) {
    auto history = ledger->history(station, boot);
    if (!history) {
      return tl::unexpected(history.error());
    }
    if (const auto known = seen.find(station); known != seen.end()) {
      history->seen = known->second;
    }
    history->pump_switched_off = switched_off(places_.state_dir, station, boot.id);
    opened.histories.emplace(station, std::move(*history));
  }
  if (auto proved = ledger->prove_writable(); !proved) {
    return tl::unexpected(proved.error());
  }
  opened.notes = ledger->notes();
  opened.alerts = ledger->alerts().read().value_or(journal::AlertStore::Kept{});
  lifetime_before_ = opened.lifetime_before_boot =
      ledger_.emplace(std::move(*ledger)).lifetime_before_boot();
  return opened;
}

JournalWorker::Seen JournalWorker::seen(const journal::Boot& boot) {
  Seen seen;
  if (!open_readings(boot.now.wall)) {
    return seen;  // then it is unknown, and told when readings are written
  }
  for (const std::string& station : stations_) {
    if (const auto known = readings_->seen(station, boot.id).value_or(std::nullopt)) {
      seen.emplace(station, *known);
    }
  }
  return seen;
}

JournalWorker::Witnesses JournalWorker::known_of(const std::vector<std::string>& stations) const {
  Witnesses known;
  for (const std::string& station : stations) {
    if (!ledger_) {
      break;  // it failed, so there is nothing new to tell
    }
    const auto one = ledger_->witness_of(station);
    known.emplace(station, one ? std::optional{*one} : std::nullopt);
  }
  return known;
}

JournalWorker::Witnessed JournalWorker::write_witnesses(const Witnesses& known) const {
  Witnessed witnessed = Witnessed::yes;
  if (places_.witness_dir.empty()) {
    return witnessed;
  }
  std::error_code ignored;  // what can't be made can't be written either
  std::filesystem::create_directories(places_.witness_dir, ignored);
  for (const auto& [station, one] : known) {
    if (!one || !journal::write_witness(witness_path(places_.witness_dir, station), *one)) {
      witnessed = Witnessed::no;
    }
  }
  return witnessed;
}

journal::Stored<JournalWorker::Opened> JournalWorker::open_now(const journal::Boot& boot) {
  auto opened = open(boot, seen(boot));
  if (opened) {
    opened->witnessed = write_witnesses(known_of(stations_));
  }
  return opened;
}

void JournalWorker::reopen(const journal::Boot& boot,
                           const std::function<void(journal::Stored<Opened>)>& reply) {
  using Both = std::pair<journal::Stored<Opened>, Witnesses>;
  const auto witness = [this, reply](const Both& both) {
    run(
        record_line_, [this, known = both.second] { return write_witnesses(known); },
        [reply, both](Witnessed witnessed) {
          auto opened = both.first;
          if (opened) {
            opened->witnessed = witnessed;
          }
          reply(std::move(opened));
        });
  };
  run(
      record_line_, [this, boot] { return seen(boot); },
      [this, boot, witness](const Seen& known) {
        run(
            ledger_line_,
            [this, boot, known] {
              auto opened = open(boot, known);
              return Both{std::move(opened), known_of(stations_)};
            },
            witness);
      });
}

void JournalWorker::ledger(LedgerJob job, Done reply) {
  run(
      ledger_line_,
      [this, job = std::move(job),
       late = ledger_line_.waiting > kOutstandingMax]() -> journal::Stored<void> {
        if (!ledger_ || late) {
          return io_error(late ? kTooMuch : "the ledger is closed after a fault");
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
        reply(done ? std::nullopt : std::optional{done.error().text()});
      });
  // Behind it, and written in the other thread: the pulse does not wait for it.
  if (!places_.witness_dir.empty() && journal::changes_witness(entry)) {
    run(
        ledger_line_, [this, station] { return known_of({station}); },
        [this](const Witnesses& known) {
          run(
              record_line_, [this, known] { return write_witnesses(known); }, witnessed_);
        });
  }
}

void JournalWorker::tidy(Moment now, const Tell& tell) {
  if (!next_look_) {
    next_look_ = now.mono + kFirstLookAfter;
  }
  if (looking_ || ledger_line_.waiting > 0) {
    return;
  }
  if (now.mono >= *next_look_) {
    look_through(now, tell);
  } else if (next_step_ && now.mono >= *next_step_) {
    tidy_once(now, tell);
  }
}

void JournalWorker::look_through(Moment now, const Tell& tell) {
  looking_ = true;
  next_look_ = now.mono + kLookEvery;
  run(
      record_line_,
      [this] {
        return journal::look_through(ledger_path(places_.state_dir), [this] { return !leaving_; });
      },
      [this, now, tell](const journal::Stored<std::vector<std::string>>& looked) {
        looking_ = false;
        // What is not sound is not touched; nor is what could not be looked at.
        next_step_ = looked ? std::optional{now.mono} : std::nullopt;
        if (looked) {
          tell(*looked);
        } else if (looked.error().fault == journal::StorageFault::damaged) {
          tell(past_damaged(looked.error()));
        }
      });
}

void JournalWorker::tidy_once(Moment now, const Tell& tell) {
  run(
      ledger_line_,
      [this, now]() -> journal::Stored<journal::Left> {
        if (!ledger_) {
          return journal::Left::nothing;
        }
        auto left = ledger_->tidy(now);
        if (!left && left.error().fault != journal::StorageFault::damaged) {
          ledger_.reset();
        }
        return left;
      },
      [this, now, tell,
       begun = std::chrono::steady_clock::now()](const journal::Stored<journal::Left>& left) {
        if (left) {
          const Duration took = std::chrono::steady_clock::now() - begun;
          next_step_ =
              now.mono + (*left == journal::Left::more ? kRestsForSteps * took : kTidyEvery);
          return;
        }
        next_step_.reset();  // until the next look
        if (left.error().fault == journal::StorageFault::damaged) {
          tell(past_damaged(left.error()));
        } else {
          tell(tl::unexpected(left.error()));
        }
      });
}

void JournalWorker::record(Rows rows, Events events, Moment now, Done reply) {
  run(
      record_line_,
      [this, rows = std::move(rows), events = std::move(events), now,
       late = record_line_.waiting > kOutstandingMax]() -> journal::Stored<void> {
        if (late) {
          return io_error(kTooMuch);
        }
        return write_rows(rows, events, now);
      },
      std::move(reply));
}

std::string JournalWorker::guard_path(const std::string& station) const {
  return app::guard_path(places_.state_dir, station);
}

void JournalWorker::save(const std::string& station, const guard::Record& record,
                         guard::RecordStore::Reply reply) {
  run(
      ledger_line_,
      [path = guard_path(station), record] { return guard::write_record(path, record); },
      std::move(reply));
}

}  // namespace limegate::app
