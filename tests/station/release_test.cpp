// What a person may release, and when: each latch with its condition, granted and refused.

#include <algorithm>
#include <chrono>
#include <functional>

#include <gtest/gtest.h>

#include "rules/judge.h"
#include "station/bench.h"

namespace limegate::station {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

struct Row {
  const char* code;
  /// While this is so it stays. Null: nothing at the station shows whether its cause is gone.
  void (*cause)(Bench&);
};

/// Reads on, whatever is sent.
void pump_on(Bench& bench) {
  bench.pump_answers = false;
  bench.pump(Bench::Command::off, Bench::Result::on);
  bench.pump(Bench::Command::read_back, Bench::Result::on);
}
void stirrer_on(Bench& bench) {
  bench.stirrer_answers = false;
  bench.stirrer(Bench::Command::off, Bench::Result::on);
  bench.stirrer(Bench::Command::read_back, Bench::Result::on);
}
void pump_silent(Bench& bench) { bench.pump_answers = false; }
void stirrer_silent(Bench& bench) { bench.stirrer_answers = false; }
void high(Bench& bench) { bench.ph = 8.5; }
void no_reading(Bench& bench) { bench.samples = false; }

/// Tested again and again.
void too_high(Bench& bench) {
  (void)bench.command(WriteEntry{{{}, "alkalinity", "12", "dKH"}, {}, WriteEntry::Said::again});
}

const Row kRows[] = {
    {"pump-stuck-on", pump_on},       {"pump-stuck-on", pump_silent},
    {"pump-found-on", pump_on},       {"pump-found-on", pump_silent},
    {"pump-timer-failed", pump_on},   {"pump-timer-failed", pump_silent},
    {"stirrer-stuck-on", stirrer_on}, {"stirrer-stuck-on", stirrer_silent},
    {"stirrer-found-on", stirrer_on}, {"stirrer-found-on", stirrer_silent},
    {"ph-second-ceiling", high},      {"ph-second-ceiling", no_reading},
    {"ph-climb-goes-on", no_reading}, {"switched-off", pump_on},
    {"switched-off", pump_silent},    {"switched-off", stirrer_on},
    {"switched-off", stirrer_silent}, {"alkalinity-too-high", too_high},
    {"effect-too-large", nullptr},    {"record", nullptr},
};

class ReleaseTable : public testing::TestWithParam<Row> {
 protected:
  static Bench latched() {
    History history;
    history.latches = {GetParam().code};
    history.book = {{1, {}, {WallTime{500000h} - 24h, "alkalinity", "8.0", "dKH"}}};
    return Bench{Bench::usual(), history};
  }
  /// As it is at one moment: an outlet that reads on stays on, whatever is sent.
  static Answer::Verdict release(Bench& bench) {
    return bench.command(Release{GetParam().code}).verdict;
  }
};

TEST_P(ReleaseTable, is_granted_when_its_cause_is_gone_and_gone_after_a_restart) {
  Bench bench = latched();
  bench.run(10min);
  ASSERT_TRUE(bench.held_for(GetParam().code));
  EXPECT_EQ(release(bench), Answer::Verdict::accepted);
  bench.run(10s);
  EXPECT_FALSE(bench.held_for(GetParam().code));
  EXPECT_EQ(release(bench), Answer::Verdict::refused) << "there is none any more";
  const History history = bench.history();
  EXPECT_TRUE(history.latches.empty());
}

TEST_P(ReleaseTable, is_refused_while_its_cause_is_there_and_there_after_a_restart) {
  if (GetParam().cause == nullptr) {
    return;
  }
  Bench bench = latched();
  bench.run(10min);
  for (int second = 0; second < 60; ++second) {
    GetParam().cause(bench);
    bench.second();
  }
  GetParam().cause(bench);
  ASSERT_TRUE(bench.held_for(GetParam().code));
  EXPECT_EQ(release(bench), Answer::Verdict::refused);
  bench.run(5s);
  EXPECT_TRUE(bench.held_for(GetParam().code));
  const History history = bench.history();
  EXPECT_NE(std::find(history.latches.begin(), history.latches.end(), GetParam().code),
            history.latches.end());
}

INSTANTIATE_TEST_SUITE_P(, ReleaseTable, testing::ValuesIn(kRows), [](const auto& row) {
  std::string name = row.param.code + std::to_string(row.index);
  std::replace(name.begin(), name.end(), '-', '_');
  return name;
});

TEST(Release, has_a_row_for_every_latch) {
  std::size_t latches = 0;
  for (const rules::Remembered& one : rules::remembered()) {
    if (one.clears == rules::Clears::by_person) {
      ++latches;
      EXPECT_TRUE(std::any_of(std::begin(kRows), std::end(kRows), [&](const Row& row) {
        return one.code == row.code;
      })) << one.code;
    }
  }
  EXPECT_GE(latches, 10U);
}

}  // namespace
}  // namespace limegate::station
