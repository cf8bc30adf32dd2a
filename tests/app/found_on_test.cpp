// Outlets that somebody else switches, over TCP and a serial line: a second master on the board, a
// hand at the relay.

#include <gtest/gtest.h>

#include "app/bench.h"
#include "support/places.h"

namespace limegate::test {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

class FoundOn : public testing::TestWithParam<Slave::Transport> {
 protected:
  void begin() {
    bench_.prepare();
    bench_.start();
    ASSERT_TRUE(bench_.let_pass(5min)) << bench_.log();
  }
  void switch_on(std::uint16_t outlet) {
    bench_.slave().switch_from_elsewhere(Bench::kBoard, outlet, true);
  }
  [[nodiscard]] bool found(int times) {
    return bench_.wait_for([&] {
      return bench_.ledger_number("SELECT count(*) FROM pulses WHERE fate = 5") == times;
    });
  }
  Bench bench_{{}, GetParam()};
};
INSTANTIATE_TEST_SUITE_P(Wire, FoundOn,
                         testing::Values(Slave::Transport::tcp, Slave::Transport::pty),
                         [](const auto& row) {
                           return row.param == Slave::Transport::tcp ? "tcp" : "pty";
                         });

TEST_P(FoundOn, a_pump_goes_off_counts_and_is_told_and_the_second_time_waits_for_a_person) {
  begin();
  switch_on(Bench::kPump);
  ASSERT_TRUE(bench_.let_pass(1min));
  ASSERT_TRUE(found(1)) << bench_.log();
  EXPECT_FALSE(bench_.pump_on());
  EXPECT_GT(bench_.counted_ml(), 0.0);
  EXPECT_GE(bench_.counted_ml(), bench_.delivered_ml());
  EXPECT_TRUE(contains(bench_.log(), "error: station=reef event=pump-found-on")) << bench_.log();
  EXPECT_FALSE(contains(bench_.log(), "event=held-pump-found-on"));
  ASSERT_TRUE(bench_.let_pass(1h));
  switch_on(Bench::kPump);
  ASSERT_TRUE(found(2)) << bench_.log();
  ASSERT_TRUE(bench_.let_pass(1min));
  EXPECT_TRUE(contains(bench_.log(), "event=held-pump-found-on")) << bench_.log();
  EXPECT_EQ(bench_.stop(), 0);
  bench_.start();
  ASSERT_TRUE(bench_.let_pass(1min));
  bench_.run_freely();
  const Ran release = run_program({limegate_path(), "release", bench_.config(), "pump-found-on"});
  EXPECT_EQ(release.code, 0) << release.output;
  EXPECT_EQ(bench_.stop(), 0);
}

TEST_P(FoundOn, is_told_until_somebody_has_seen_it_also_over_a_restart) {
  begin();
  switch_on(Bench::kPump);
  ASSERT_TRUE(found(1)) << bench_.log();
  ASSERT_TRUE(bench_.let_pass(2min));
  const auto status = [&] {
    EXPECT_TRUE(bench_.let_pass(1min));
    bench_.run_freely();
    return run_program({limegate_path(), "status", bench_.config()}).output;
  };
  bench_.kill();
  bench_.start();
  EXPECT_TRUE(contains(status(), "! pump-found-on since")) << status() << bench_.log();
  EXPECT_EQ(run_program({limegate_path(), "acknowledge", bench_.config()}).code, 0);
  ASSERT_TRUE(bench_.let_pass(2min));
  bench_.kill();
  bench_.start();
  EXPECT_FALSE(contains(status(), "pump-found-on")) << status();
  EXPECT_EQ(bench_.stop(), 0);
}

TEST_P(FoundOn, a_stirrer_counts_as_stirred_and_the_limewater_settles_anew) {
  begin();
  ASSERT_TRUE(bench_.wait_for([&] { return bench_.delivered_ml() > 0; })) << bench_.log();
  switch_on(Bench::kStirrer);
  ASSERT_TRUE(bench_.let_pass(10s));
  ASSERT_TRUE(bench_.wait_for([&] {
    return bench_.ledger_number(
               "SELECT count(*) FROM stirs WHERE duration_ms = 0 AND end_lifetime_ms > 0") == 1;
  })) << bench_.log();
  EXPECT_FALSE(bench_.stirrer_on());
  EXPECT_TRUE(contains(bench_.log(), "error: station=reef event=stirrer-found-on"));
  const double before = bench_.delivered_ml();
  ASSERT_TRUE(bench_.let_pass(19min));
  EXPECT_EQ(bench_.delivered_ml(), before);
  EXPECT_EQ(bench_.stop(), 0);
  EXPECT_TRUE(violations(bench_.slave().log(), {20min, 1e6, 1e6}).size() <= 1U)
      << "somebody else's stir alone may meet a pulse";
}

TEST_P(FoundOn, a_stirrer_that_starts_in_mid_pulse_ends_it_within_a_second) {
  begin();
  ASSERT_TRUE(bench_.let_pulse_begin()) << bench_.log();
  switch_on(Bench::kStirrer);
  ASSERT_TRUE(bench_.let_pass(5s));
  EXPECT_FALSE(bench_.pump_on()) << bench_.log();
  EXPECT_EQ(bench_.stop(), 0);
  std::optional<Instant> stirs;
  std::optional<Instant> ends;
  for (const OutletChange& change : bench_.slave().log()) {
    if (change.address == Bench::kStirrer && change.on && !stirs) {
      stirs = change.at.mono;
    } else if (change.address == Bench::kPump && !change.on && stirs && !ends) {
      ends = change.at.mono;
    }
  }
  ASSERT_TRUE(stirs && ends);
  EXPECT_LE(*ends - *stirs, 1s);
}

}  // namespace
}  // namespace limegate::test
