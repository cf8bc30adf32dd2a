#include "guard/guard.h"

#include <gtest/gtest.h>

#include "guard/fakes.h"

namespace limegate::guard {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using Log = std::vector<std::string>;
using Result = Outcome::Result;
using Stirrer = Record::Stirrer;
constexpr auto kDurably = RecordStore::Saved::durably;
constexpr auto kFailed = RecordStore::Saved::failed;

TEST(Guard, looks_at_both_outlets_and_persists_the_id_before_the_pump_is_energised) {
  Rig rig;
  rig.pulse(11);
  EXPECT_EQ(rig.log, (Log{"stirrer read"}));
  rig.stirrer.answer(OutletState::off);
  EXPECT_EQ(rig.log, (Log{"stirrer read", "pump read"}));
  rig.pump.answer(OutletState::off);
  EXPECT_EQ(rig.log, (Log{"stirrer read", "pump read", "save"}));
  EXPECT_EQ(rig.store.saved.back().newest_pulse_id, 11);
  EXPECT_EQ(rig.pump.runs, 0);
  rig.store.answer(kDurably);
  EXPECT_EQ(rig.pump.runs, 1);
  EXPECT_EQ(rig.pump.ran_for, 45s);
  EXPECT_EQ(rig.pump.sent_before, rig.now() + 2s);
  EXPECT_TRUE(rig.outcomes.empty());
  rig.pump.answer(OutletState::on);
  ASSERT_EQ(rig.outcomes.size(), 1U);
  EXPECT_EQ(rig.outcomes.back().result, Result::on);
}

TEST(Guard, refuses_an_id_that_was_used_before) {
  Rig rig;
  rig.pulse(10);
  EXPECT_TRUE(rig.refused("used before"));
  rig.pulse(9);
  EXPECT_TRUE(rig.refused("used before"));
  rig.pulse(11);
  rig.up_to_run();
  rig.pump.answer(OutletState::on);
  rig.pulse(11);
  EXPECT_TRUE(rig.refused("used before"));
  EXPECT_EQ(rig.pump.runs, 1);
}

TEST(Guard, an_id_stays_used_when_the_outcome_is_unknown) {
  Rig rig;
  rig.pulse(11);
  rig.up_to_run();
  rig.pump.fail(ports::Sent::maybe);
  EXPECT_EQ(rig.outcomes.back().result, Result::unknown);
  rig.pulse(11);
  EXPECT_TRUE(rig.refused("used before"));
}

TEST(Guard, says_refused_when_the_board_was_sent_nothing) {
  Rig rig;
  rig.pulse(11);
  rig.up_to_run();
  rig.pump.fail(ports::Sent::no);
  EXPECT_EQ(rig.outcomes.back().result, Result::refused);
}

TEST(Guard, refuses_a_pulse_longer_than_any_and_one_without_length) {
  Rig rig;
  rig.pulse(11, 120s + 1ns);
  EXPECT_TRUE(rig.refused("longer"));
  rig.pulse(11, 0s);
  EXPECT_TRUE(rig.refused("longer"));
  rig.pulse(11, -1s);
  EXPECT_TRUE(rig.refused("longer"));
  EXPECT_TRUE(rig.log.empty());
  rig.pulse(11, 120s);
  EXPECT_EQ(rig.log.size(), 1U);
}

TEST(Guard, refuses_a_pulse_that_comes_too_late) {
  Rig rig;
  const auto reply = [&](const Outcome& outcome) { rig.outcomes.push_back(outcome); };
  rig.guard.pulse(11, 45s, rig.now(), reply);
  EXPECT_TRUE(rig.refused("too late"));
  rig.guard.pulse(11, 45s, rig.now() + 1ns, reply);
  EXPECT_EQ(rig.outcomes.size(), 1U);
}

TEST(Guard, refuses_one_nanosecond_before_the_settle_time_has_passed) {
  Record record = Rig::settled();
  record.stir_ended = Instant{10h} - 60min + 1ns;
  Rig rig{record};
  rig.pulse(11);
  EXPECT_TRUE(rig.refused("not settled"));
  rig.clock.advance(1ns);
  rig.pulse(11);
  EXPECT_EQ(rig.log.size(), 1U);
}

TEST(Guard, refuses_while_another_command_is_under_way) {
  Rig rig;
  rig.pulse(11);
  rig.pulse(12);
  EXPECT_TRUE(rig.refused("under way"));
  rig.stir();
  EXPECT_TRUE(rig.refused("under way"));
  rig.up_to_run();
  rig.pulse(12);
  EXPECT_TRUE(rig.refused("under way")) << "sent, but not answered";
  rig.pump.answer(OutletState::on);
  rig.pulse(12);
  EXPECT_EQ(rig.outcomes.size(), 4U) << "three refused, one on, and this one is looked at";
}

struct Answer {
  const char* name;
  void (*stirrer)(FakeOutlet&);
  void (*pump)(FakeOutlet&);
  const char* why;
};
void PrintTo(const Answer& row, std::ostream* out) { *out << row.name; }
void off(FakeOutlet& outlet) { outlet.answer(OutletState::off); }
void on(FakeOutlet& outlet) { outlet.answer(OutletState::on); }
void silent(FakeOutlet& outlet) { outlet.fail(ports::Sent::maybe); }
void unasked(FakeOutlet& outlet) { outlet.fail(ports::Sent::no); }

class AnswerTable : public testing::TestWithParam<Answer> {};
TEST_P(AnswerTable, nothing_runs_and_nothing_is_written_unless_both_read_off) {
  for (const bool pulse : {true, false}) {
    Rig rig;
    if (pulse) {
      rig.pulse(11);
    } else {
      rig.stir();
    }
    GetParam().stirrer(rig.stirrer);
    if (GetParam().pump != nullptr) {
      GetParam().pump(rig.pump);
    }
    EXPECT_TRUE(rig.refused(GetParam().why));
    EXPECT_EQ(rig.pump.runs + rig.stirrer.runs, 0);
    EXPECT_TRUE(rig.store.saved.empty());
    rig.pulse(11);
    EXPECT_EQ(rig.outcomes.size(), 1U) << "the next one is looked at";
  }
}
INSTANTIATE_TEST_SUITE_P(
    , AnswerTable,
    testing::Values(Answer{"stirrer_reads_on", on, nullptr, "stirrer does not read off"},
                    Answer{"stirrer_silent", silent, nullptr, "stirrer does not read off"},
                    Answer{"stirrer_not_asked", unasked, nullptr, "stirrer does not read off"},
                    Answer{"pump_reads_on", off, on, "pump does not read off"},
                    Answer{"pump_silent", off, silent, "pump does not read off"},
                    Answer{"pump_not_asked", off, unasked, "pump does not read off"}),
    [](const auto& row) { return std::string{row.param.name}; });

TEST(Guard, runs_nothing_when_its_record_cannot_be_written) {
  Rig rig;
  rig.pulse(11);
  rig.stirrer.answer(OutletState::off);
  rig.pump.answer(OutletState::off);
  rig.store.answer(kFailed);
  EXPECT_TRUE(rig.refused("can't be written"));
  EXPECT_EQ(rig.pump.runs, 0);
  rig.stir();
  rig.stirrer.answer(OutletState::off);
  rig.pump.answer(OutletState::off);
  rig.store.answer(kFailed);
  EXPECT_TRUE(rig.refused("can't be written"));
  EXPECT_EQ(rig.stirrer.runs, 0);
}

TEST(Guard, waits_five_seconds_for_its_record_and_no_longer) {
  for (const bool pulse : {true, false}) {
    for (const auto& [took, runs] : {std::pair<Duration, int>{5s, 1}, {5s + 1ns, 0}, {1h, 0}}) {
      Rig rig;
      const auto reply = [&](const Outcome& outcome) { rig.outcomes.push_back(outcome); };
      pulse ? rig.guard.pulse(11, 45s, rig.now() + 2h, reply)
            : rig.guard.stir(15min, rig.now() + 2h, reply);
      rig.stirrer.answer(OutletState::off);
      rig.pump.answer(OutletState::off);
      rig.clock.advance(took);
      rig.store.answer(kDurably);
      EXPECT_EQ(rig.pump.runs + rig.stirrer.runs, runs);
      EXPECT_EQ(rig.outcomes.size(), runs == 0 ? 1U : 0U);
      if (runs == 0) {
        EXPECT_TRUE(rig.refused("disk takes too long"));
        EXPECT_TRUE(rig.outcomes.back().disk_too_slow);
        rig.pulse(12);  // nothing is under way any more
        EXPECT_EQ(rig.outcomes.size(), 1U);
      }
    }
  }
}

TEST(Guard, says_when_the_outlet_was_given_the_run) {
  Rig rig;
  rig.guard.pulse(11, 45s, rig.now() + 7s, [&](const Outcome& o) { rig.outcomes.push_back(o); });
  rig.stirrer.answer(OutletState::off);
  rig.pump.answer(OutletState::off);
  rig.clock.advance(4s);
  rig.store.answer(kDurably);
  const Instant handed_over = rig.now();
  rig.clock.advance(1s);
  rig.pump.answer(OutletState::on);
  ASSERT_EQ(rig.outcomes.size(), 1U);
  EXPECT_EQ(rig.outcomes.back().handed_over, handed_over);
}

/// An off that overtakes a command after so many of its three answers.
class OvertakeTable : public testing::TestWithParam<int> {};
TEST_P(OvertakeTable, an_off_between_two_steps_keeps_it_from_running) {
  for (const bool pulse : {true, false}) {
    for (const bool pump_off : {true, false}) {
      Rig rig;
      if (pulse) {
        rig.pulse(11);
      } else {
        rig.stir();
      }
      const auto overtake = [&] {
        const auto ignored = [](const Outcome&) {};
        pump_off ? rig.guard.pump_off(ignored) : rig.guard.stirrer_off(ignored);
      };
      const std::vector<std::function<void()>> answers{
          [&] { rig.stirrer.answer(OutletState::off); }, [&] { rig.pump.answer(OutletState::off); },
          [&] { rig.store.answer(kDurably); }};
      for (int i = 0; i <= GetParam(); ++i) {
        if (i == GetParam()) {
          overtake();
        }
        answers[static_cast<std::size_t>(i)]();
      }
      EXPECT_TRUE(rig.refused("Switched off before it began"));
      EXPECT_EQ(rig.pump.runs + rig.stirrer.runs, 0);
    }
  }
}
INSTANTIATE_TEST_SUITE_P(, OvertakeTable, testing::Values(0, 1, 2));

TEST(Guard, an_off_is_sent_while_a_run_is_under_way) {
  Rig rig;
  rig.pulse(11);
  rig.up_to_run();
  rig.guard.pump_off([&](const Outcome& outcome) { rig.outcomes.push_back(outcome); });
  EXPECT_EQ(rig.log.back(), "pump off");
  rig.pump.answer(OutletState::on);
  rig.pump.answer(OutletState::off);
  ASSERT_EQ(rig.outcomes.size(), 2U);
  EXPECT_EQ(rig.outcomes.back().result, Result::off);
}

TEST(Guard, reads_and_offs_tell_what_was_read) {
  Rig rig;
  const auto reply = [&](const Outcome& outcome) { rig.outcomes.push_back(outcome); };
  rig.guard.read_pump(reply);
  rig.pump.answer(OutletState::on);
  EXPECT_EQ(rig.outcomes.back().result, Result::on);
  rig.guard.pump_off(reply);
  rig.pump.fail(ports::Sent::maybe);
  EXPECT_EQ(rig.outcomes.back().result, Result::unknown);
  rig.guard.stirrer_off(reply);
  rig.stirrer.fail(ports::Sent::no);
  EXPECT_EQ(rig.outcomes.back().result, Result::refused);
  EXPECT_EQ(rig.outcomes.size(), 3U);
}

}  // namespace
}  // namespace limegate::guard
