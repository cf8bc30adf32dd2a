#pragma once

#include <deque>
#include <functional>
#include <string>
#include <utility>
#include <vector>

#include "guard/guard.h"
#include "support/test_clocks.h"

namespace limegate::guard {

using ports::OutletFault;
using ports::OutletState;

/// An outlet that answers when the test says so, with what the test says.
class FakeOutlet final : public ports::Outlet {
 public:
  using Answer = ports::OutletAnswer;

  explicit FakeOutlet(std::string name, std::vector<std::string>& log)
      : name_(std::move(name)), log_(log) {}
  void run_for(Duration duration, Instant send_before, Reply reply) override {
    ran_for = duration;
    sent_before = send_before;
    ++runs;
    ask("run", std::move(reply));
  }
  void off(Reply reply) override { ask("off", std::move(reply)); }
  void read_back(Reply reply) override { ask("read", std::move(reply)); }

  /// Answers the oldest question.
  void answer(Answer with) {
    Reply reply = std::move(asked_.front());
    asked_.pop_front();
    reply(with);
  }
  void answer(OutletState state) { answer(Answer{state}); }
  /// Answers the newest question first: an off overtakes what waits.
  void answer_newest(OutletState state) {
    Reply reply = std::move(asked_.back());
    asked_.pop_back();
    reply(Answer{state});
  }
  void fail(ports::Sent sent) {
    answer(Answer{tl::unexpected(OutletFault{sent, ports::BusFault::timed_out})});
  }
  [[nodiscard]] std::size_t asked() const { return asked_.size(); }

  int runs = 0;
  Duration ran_for{};
  Instant sent_before{};

 private:
  void ask(const char* what, Reply reply) {
    log_.push_back(name_ + " " + what);
    asked_.push_back(std::move(reply));
  }
  std::string name_;
  std::vector<std::string>& log_;
  std::deque<Reply> asked_;
};

/// A store that is durable when the test says so.
class FakeStore final : public RecordStore {
 public:
  explicit FakeStore(std::vector<std::string>& log) : log_(log) {}
  void save(const Record& record, Reply reply) override {
    log_.emplace_back("save");
    saved.push_back(record);
    asked_.push_back(std::move(reply));
  }
  void answer(Saved with) {
    Reply reply = std::move(asked_.front());
    asked_.pop_front();
    reply(with);
  }
  [[nodiscard]] std::size_t asked() const { return asked_.size(); }

  std::vector<Record> saved;

 private:
  std::vector<std::string>& log_;
  std::deque<Reply> asked_;
};

/// A guard between fakes, with its settle time passed since the boot.
struct Rig {
  static constexpr const char* kBoot = "boot-a";
  static Record settled() {
    Record record;
    record.boot = kBoot;
    record.newest_pulse_id = 10;
    record.stir_ended = Instant{std::chrono::hours{1}};
    return record;
  }

  explicit Rig(const std::optional<Record>& known = settled(), bool observed = false)
      : guard(Guard::Settings{}, {pump, observed ? nullptr : &stirrer, store, clock}, kBoot,
              known) {}

  void pulse(std::int64_t id, Duration duration = std::chrono::seconds{45}) {
    guard.pulse(id, duration, now() + std::chrono::seconds{2},
                [this](const Outcome& outcome) { outcomes.push_back(outcome); });
  }
  void stir(Duration duration = std::chrono::minutes{15}) {
    guard.stir(duration, now() + std::chrono::seconds{2},
               [this](const Outcome& outcome) { outcomes.push_back(outcome); });
  }
  /// Answers every question as a sound station with everything off does, up to the run.
  void up_to_run() {
    stirrer.answer(OutletState::off);
    pump.answer(OutletState::off);
    store.answer(RecordStore::Saved::durably);
  }
  [[nodiscard]] Instant now() const { return clock.now().mono; }
  [[nodiscard]] bool refused(const std::string& part) const {
    return !outcomes.empty() && outcomes.back().result == Outcome::Result::refused &&
           outcomes.back().why.find(part) != std::string::npos;
  }

  test::ManualClock clock{{Instant{std::chrono::hours{10}}, WallTime{}}};
  std::vector<std::string> log;
  FakeOutlet pump{"pump", log};
  FakeOutlet stirrer{"stirrer", log};
  FakeStore store{log};
  std::vector<Outcome> outcomes;
  Guard guard;
};

}  // namespace limegate::guard
