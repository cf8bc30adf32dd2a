#include "guard/guard.h"

#include <deque>
#include <string>
#include <vector>

#include <gtest/gtest.h>

#include "support/program.h"
#include "support/test_clocks.h"

namespace limegate::guard {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using ports::BusFault;
using ports::OutletFault;
using ports::OutletState;
using ports::Sent;

/// Everything that reaches the hardware or the disk, in order, answered when the test says so.
struct Wire {
  std::vector<std::string> seen;
  std::deque<std::function<void()>> waiting;

  void answer_one() {
    ASSERT_FALSE(waiting.empty());
    auto next = std::move(waiting.front());
    waiting.pop_front();
    next();
  }
  void answer_all() {
    while (!waiting.empty()) {
      answer_one();
    }
  }
};

class FakeOutlet : public ports::Outlet {
 public:
  FakeOutlet(Wire& wire, std::string name) : wire_(wire), name_(std::move(name)) {}
  void run_for(Duration duration, Instant /*send_before*/, Reply reply) override {
    wire_.seen.push_back(name_ + " run " + std::to_string(duration / 1s));
    wire_.waiting.emplace_back([this, reply = std::move(reply)] {
      if (run_fault) {
        reply(tl::unexpected(*run_fault));
      } else {
        state = OutletState::on;
        reply(state);
      }
    });
  }
  void off(Reply reply) override {
    wire_.seen.push_back(name_ + " off");
    wire_.waiting.emplace_back([this, reply = std::move(reply)] {
      state = OutletState::off;
      reply(state);
    });
  }
  void read_back(Reply reply) override {
    wire_.seen.push_back(name_ + " read");
    wire_.waiting.emplace_back([this, reply = std::move(reply)] {
      if (read_fault) {
        reply(tl::unexpected(*read_fault));
      } else {
        reply(state);
      }
    });
  }

  OutletState state = OutletState::off;
  std::optional<OutletFault> run_fault;
  std::optional<OutletFault> read_fault;

 private:
  Wire& wire_;
  std::string name_;
};

class FakeStore : public RecordStore {
 public:
  explicit FakeStore(Wire& wire) : wire_(wire) {}
  void save(const Record& record, Reply reply) override {
    wire_.seen.emplace_back("save");
    wire_.waiting.emplace_back([this, record, reply = std::move(reply)] {
      if (saves == Saved::durably) {
        saved = record;
      }
      reply(saves);
    });
  }
  Saved saves = Saved::durably;
  std::optional<Record> saved;

 private:
  Wire& wire_;
};

class GuardTest : public testing::Test {
 protected:
  GuardTest() { make_guard({}); }

  void make_guard(const std::optional<Record>& known) {
    guard_.emplace(Guard::Settings{}, Guard::Parts{pump_, &stirrer_, store_, clock_}, "boot-1",
                   known);
  }
  void settle() { clock_.advance(60min); }

  /// Asks for a pulse and answers everything; what became of it.
  Outcome pulse(std::int64_t id, Duration duration = 30s) {
    begin_pulse(id, duration);
    wire_.answer_all();
    return take();
  }
  void begin_pulse(std::int64_t id, Duration duration = 30s) {
    guard_->pulse(id, duration, clock_.now().mono + 2s,
                  [this](const Outcome& outcome) { outcomes_.push_back(outcome); });
  }
  Outcome stir(Duration duration = 15min) {
    guard_->stir(duration, clock_.now().mono + 2s,
                 [this](const Outcome& outcome) { outcomes_.push_back(outcome); });
    wire_.answer_all();
    return take();
  }
  Outcome take() {
    EXPECT_EQ(outcomes_.size(), 1U) << "each reply comes exactly once";
    Outcome outcome = outcomes_.empty() ? Outcome{} : outcomes_.back();
    outcomes_.clear();
    return outcome;
  }
  [[nodiscard]] bool energised() const {
    for (const std::string& what : wire_.seen) {
      if (what.find(" run ") != std::string::npos) {
        return true;
      }
    }
    return false;
  }
  void expect_refused(const Outcome& outcome, const std::string& why) {
    EXPECT_EQ(outcome.result, Outcome::Result::refused);
    EXPECT_NE(outcome.why.find(why), std::string::npos) << outcome.why;
    EXPECT_FALSE(energised());
  }

  test::ManualClock clock_;
  Wire wire_;
  FakeOutlet pump_{wire_, "pump"};
  FakeOutlet stirrer_{wire_, "stirrer"};
  FakeStore store_{wire_};
  std::optional<Guard> guard_;
  std::vector<Outcome> outcomes_;
};

TEST_F(GuardTest, lets_a_pulse_through_after_looking_twice_and_writing_first) {
  settle();
  EXPECT_EQ(pulse(1).result, Outcome::Result::on);
  EXPECT_EQ(wire_.seen,
            (std::vector<std::string>{"stirrer read", "pump read", "save", "pump run 30"}));
  EXPECT_EQ(store_.saved->newest_pulse_id, 1);
}

TEST_F(GuardTest, refuses_one_nanosecond_before_the_settle_time_has_passed) {
  clock_.advance(60min - 1ns);
  expect_refused(pulse(1), "has not settled");
  clock_.advance(1ns);
  EXPECT_EQ(pulse(1).result, Outcome::Result::on);
}

TEST_F(GuardTest, refuses_an_id_that_was_sent_before_or_is_older) {
  settle();
  EXPECT_EQ(pulse(7).result, Outcome::Result::on);
  pump_.state = OutletState::off;
  wire_.seen.clear();
  expect_refused(pulse(7), "used before");
  expect_refused(pulse(6), "used before");
  EXPECT_EQ(pulse(8).result, Outcome::Result::on);
}

TEST_F(GuardTest, refuses_what_is_too_long_empty_or_late) {
  settle();
  expect_refused(pulse(1, 120s + 1ns), "longer than any pulse");
  expect_refused(pulse(1, 0s), "longer than any pulse");
  guard_->pulse(1, 30s, clock_.now().mono,
                [this](const Outcome& outcome) { outcomes_.push_back(outcome); });
  expect_refused(take(), "too late");
  EXPECT_EQ(pulse(1, 120s).result, Outcome::Result::on);
}

TEST_F(GuardTest, refuses_while_an_outlet_reads_on_or_does_not_answer) {
  settle();
  stirrer_.state = OutletState::on;
  expect_refused(pulse(1), "stirrer does not read off");
  stirrer_.state = OutletState::off;
  pump_.state = OutletState::on;
  expect_refused(pulse(2), "pump does not read off");
  pump_.state = OutletState::off;
  pump_.read_fault = OutletFault{Sent::no, BusFault::timed_out};
  expect_refused(pulse(3), "pump does not read off");
  pump_.read_fault.reset();
  stirrer_.read_fault = OutletFault{Sent::no, BusFault::port_gone};
  expect_refused(pulse(4), "stirrer does not read off");
}

TEST_F(GuardTest, refuses_when_its_own_record_can_not_be_written) {
  settle();
  store_.saves = RecordStore::Saved::failed;
  expect_refused(pulse(1), "can't be written");
  expect_refused(stir(), "can't be written");
}

// An off between any two steps of a pulse ends it before anything is sent.
TEST_F(GuardTest, an_off_overtakes_a_pulse_at_every_step) {
  for (int answered = 0; answered < 3; ++answered) {
    Wire fresh;
    wire_ = std::move(fresh);
    make_guard({});
    settle();
    begin_pulse(1);
    for (int i = 0; i < answered; ++i) {
      wire_.answer_one();
    }
    guard_->pump_off([](const Outcome&) {});
    wire_.answer_all();
    expect_refused(take(), "Switched off before it began");
  }
}

TEST_F(GuardTest, one_command_at_a_time) {
  settle();
  begin_pulse(1);
  guard_->pulse(2, 30s, clock_.now().mono + 2s,
                [this](const Outcome& outcome) { outcomes_.push_back(outcome); });
  expect_refused(take(), "another command is under way");
  guard_->stir(15min, clock_.now().mono + 2s,
               [this](const Outcome& outcome) { outcomes_.push_back(outcome); });
  expect_refused(take(), "another command is under way");
  wire_.answer_all();
  EXPECT_EQ(take().result, Outcome::Result::on);
}

TEST_F(GuardTest, an_unknown_outcome_is_told_as_such_and_an_unsent_one_as_refused) {
  settle();
  pump_.run_fault = OutletFault{Sent::maybe, BusFault::timed_out};
  EXPECT_EQ(pulse(1).result, Outcome::Result::unknown);
  pump_.run_fault = OutletFault{Sent::no, BusFault::timed_out};
  EXPECT_EQ(pulse(2).result, Outcome::Result::refused);
}

TEST_F(GuardTest, after_a_stir_the_settle_time_begins_when_the_stirrer_is_seen_off) {
  settle();
  EXPECT_EQ(stir().result, Outcome::Result::on);
  EXPECT_EQ(store_.saved->stirrer, Record::Stirrer::running) << "written before it ran";
  wire_.seen.clear();
  clock_.advance(24h);
  expect_refused(pulse(1), "not known to rest");
  guard_->stirrer_off([](const Outcome&) {});
  wire_.answer_all();
  EXPECT_EQ(store_.saved->stirrer, Record::Stirrer::resting);
  clock_.advance(60min - 1ns);
  expect_refused(pulse(1), "has not settled");
  clock_.advance(1ns);
  EXPECT_EQ(pulse(1).result, Outcome::Result::on);
}

TEST_F(GuardTest, a_stirrer_switched_on_by_hand_counts_as_a_stir) {
  settle();
  stirrer_.state = OutletState::on;
  guard_->read_stirrer([](const Outcome&) {});
  wire_.answer_all();
  stirrer_.state = OutletState::off;
  expect_refused(pulse(1), "not known to rest");
  guard_->read_stirrer([](const Outcome&) {});
  wire_.answer_all();
  expect_refused(pulse(1), "has not settled");
}

TEST_F(GuardTest, refuses_a_stir_that_is_too_long_or_meets_a_running_pump) {
  settle();
  expect_refused(stir(30min + 1ns), "refused the stir");
  pump_.state = OutletState::on;
  expect_refused(stir(), "pump does not read off");
}

TEST_F(GuardTest, a_record_of_this_boot_is_believed_and_any_other_ended_just_now) {
  clock_.advance(5h);
  Record record;
  record.boot = "boot-1";
  record.newest_pulse_id = 41;
  record.stir_ended = clock_.now().mono - 60min;
  make_guard(record);
  wire_.seen.clear();
  expect_refused(pulse(41), "used before");
  EXPECT_EQ(pulse(42).result, Outcome::Result::on);
  pump_.state = OutletState::off;

  for (int what = 0; what < 3; ++what) {
    Record other = record;
    if (what == 0) {
      other.boot = "boot-0";
    } else if (what == 1) {
      other.stirrer = Record::Stirrer::running;
    } else {
      other.stir_ended = clock_.now().mono + 1s;  // from the future
    }
    make_guard(other);
    wire_.seen.clear();
    expect_refused(pulse(50), "has not settled");
    expect_refused(pulse(41), "used before");
  }
}

class ObservingGuardTest : public GuardTest {
 protected:
  ObservingGuardTest() {
    guard_.emplace(Guard::Settings{}, Guard::Parts{pump_, nullptr, store_, clock_}, "boot-1",
                   std::nullopt);
  }
};

TEST_F(ObservingGuardTest, waits_until_the_input_was_heard_and_settled_and_stays_in_touch) {
  settle();
  expect_refused(pulse(1), "not known to rest");
  guard_->observe_stirrer(Record::Stirrer::resting);
  const auto hear_for = [&](Duration lasting) {
    for (Duration passed{}; passed < lasting; passed += 10s) {
      clock_.advance(10s);
      guard_->observe_stirrer(Record::Stirrer::resting);
    }
  };
  hear_for(60min - 10s);
  expect_refused(pulse(1), "has not settled");
  hear_for(10s);
  EXPECT_EQ(pulse(1).result, Outcome::Result::on);
  pump_.state = OutletState::off;
  wire_.seen.clear();
  clock_.advance(15s + 1ns);
  expect_refused(pulse(2), "not heard of lately");
  // After the gap it may have run: the settling begins anew.
  guard_->observe_stirrer(Record::Stirrer::resting);
  expect_refused(pulse(2), "has not settled");
  EXPECT_EQ(stir().result, Outcome::Result::refused) << "it is not ours to switch";
}

TEST(GuardRecord, survives_its_file_and_any_changed_character_is_noticed) {
  Record record;
  record.boot = "3f0c";
  record.newest_pulse_id = 123456789;
  record.stirrer = Record::Stirrer::running;
  record.stir_ended = Instant{987654321ns};
  const std::string line = record.to_line();
  const auto back = Record::from_line(line);
  ASSERT_TRUE(back.has_value());
  EXPECT_EQ(back->to_line(), line);
  for (std::size_t i = 0; i < line.size(); ++i) {
    std::string changed = line;
    changed[i] = changed[i] == '1' ? '2' : '1';
    EXPECT_FALSE(Record::from_line(changed).has_value()) << changed;
    EXPECT_FALSE(Record::from_line(line.substr(0, i)).has_value()) << "cut at " << i;
  }
}

TEST(GuardRecord, is_read_back_from_a_real_file_and_a_missing_folder_is_a_failure) {
  const test::TempDir folder;
  Record record;
  record.boot = "b";
  record.newest_pulse_id = 5;
  const std::string path = folder.path() + "/guard-reef";
  EXPECT_FALSE(read_record(path).has_value());
  EXPECT_EQ(write_record(path, record), RecordStore::Saved::durably);
  record.newest_pulse_id = 6;
  EXPECT_EQ(write_record(path, record), RecordStore::Saved::durably);
  ASSERT_TRUE(read_record(path).has_value());
  EXPECT_EQ(read_record(path)->newest_pulse_id, 6);
  EXPECT_EQ(write_record(folder.path() + "/nowhere/guard-reef", record),
            RecordStore::Saved::failed);
}

}  // namespace
}  // namespace limegate::guard
