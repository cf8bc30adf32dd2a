// The owner's rules in the built program, with inputs on the scripted board.

#include <atomic>
#include <chrono>
#include <mutex>
#include <optional>

#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include "app/bench.h"
#include "gpio/chip.h"
#include "support/broker.h"
#include "support/places.h"

namespace limegate::test {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

constexpr std::uint16_t kReturnPump = 9;  // inputs of the board
constexpr std::uint16_t kLeak = 10;

Bench::Plan plan() {
  Bench::Plan plan;
  plan.max_pulse_ml = 12.5;  // 15 s
  plan.more = R"(
[[station.input]]
name = "return-pump"
bus = "bench"
unit = 2
table = "discrete_input"
address = 9
usual = "on"
[[station.input]]
name = "leak"
bus = "bench"
unit = 2
table = "discrete_input"
address = 10
usual = "off"
[[station.rule]]
name = "return-pump-stopped"
when = { input = "return-pump", is = "off" }
effect = "hold"
release_after_s = 30
[[station.rule]]
name = "leak"
says = "There is water on the floor."
when = { input = "leak", is = "on" }
effect = "hold"
release = "by-person"
)";
  return plan;
}

void all_is_well(Bench& bench) {
  bench.slave().set_input(Bench::kBoard, kReturnPump, true);
  bench.slave().set_input(Bench::kBoard, kLeak, false);
}

TEST(OwnerRules, an_input_that_changes_ends_a_running_pulse) {
  Bench bench{plan()};
  all_is_well(bench);
  bench.prepare();
  std::mutex mutex;
  std::optional<Instant> on_at, stopped_at;
  bench.also_on_request([&](const Slave::Event&) {
    // Three seconds into the first pulse the return pump stops.
    const std::lock_guard lock{mutex};
    const Instant now = bench.clock().now().mono;
    if (!on_at && bench.slave().is_on(Bench::kBoard, Bench::kPump)) {
      on_at = now;
    } else if (on_at && !stopped_at && now - *on_at >= 3s) {
      stopped_at = now;
      bench.slave().set_input(Bench::kBoard, kReturnPump, false);
    }
  });
  bench.start();
  ASSERT_TRUE(bench.wait_for([&] {
    return contains(bench.log(), "held-rule-return-pump-stopped ");
  })) << bench.log();
  const auto stopped = [&] {
    const std::lock_guard lock{mutex};
    return stopped_at.has_value();
  };
  ASSERT_TRUE(bench.wait_for(stopped)) << bench.log();
  ASSERT_TRUE(bench.wait_for([&] { return !bench.pump_on(); })) << bench.log();
  {
    const std::lock_guard lock{mutex};
    ASSERT_TRUE(on_at && stopped_at);
    std::optional<OutletChange> off;
    for (const OutletChange& change : bench.slave().log()) {
      if (change.address == Bench::kPump && !change.on && change.at.mono > *on_at) {
        off = off.value_or(change);
      }
    }
    ASSERT_TRUE(off);
    EXPECT_EQ(off->cause, ChangeCause::command) << "not by its own end";
    // One poll each second, and one command.
    EXPECT_LE(off->at.mono - *stopped_at, 2500ms);
  }

  const double held_at = bench.delivered_ml();
  ASSERT_TRUE(bench.let_pass(3h)) << bench.log();
  EXPECT_EQ(bench.delivered_ml(), held_at);
  EXPECT_TRUE(contains(bench.log(), "The rule return-pump-stopped holds: return-pump is off."))
      << bench.log();
  bench.slave().set_input(Bench::kBoard, kReturnPump, true);
  ASSERT_TRUE(bench.wait_for([&] { return bench.delivered_ml() > held_at; })) << bench.log();
  EXPECT_EQ(bench.stop(), 0);
  EXPECT_GE(bench.counted_ml(), bench.delivered_ml() - 0.001);
}

TEST(OwnerRules, an_input_that_never_answers_holds_from_the_start_and_a_person_is_told) {
  Bench bench{plan()};  // nothing answers at the inputs' addresses
  bench.prepare();
  bench.start();
  ASSERT_TRUE(bench.let_pass(2h)) << bench.log();
  EXPECT_EQ(bench.delivered_ml(), 0);
  EXPECT_TRUE(contains(bench.log(), "nothing is known of return-pump")) << bench.log();
  EXPECT_TRUE(contains(bench.log(), "The input return-pump (bus bench, unit 2, address 9)"))
      << bench.log();
  EXPECT_TRUE(contains(bench.log(), "long-rule-leak-unknown")) << bench.log();
  EXPECT_EQ(bench.stop(), 0);
}

TEST(OwnerRules, a_latch_stays_over_a_restart_until_a_person_releases_it) {
  Bench bench{plan()};
  all_is_well(bench);
  bench.prepare();
  bench.start();
  ASSERT_TRUE(bench.let_pulse_begin()) << bench.log();
  bench.slave().set_input(Bench::kBoard, kLeak, true);
  ASSERT_TRUE(bench.wait_for([&] {
    return bench.ledger_number("SELECT count(*) FROM latches") == 1;
  })) << bench.log();
  bench.kill();
  EXPECT_TRUE(
      contains(bench.log(), "There is water on the floor. The rule leak holds: leak is on."))
      << bench.log();

  bench.slave().set_input(Bench::kBoard, kLeak, false);
  const double held_at = bench.delivered_ml();
  bench.start();
  ASSERT_TRUE(bench.let_pass(2h)) << bench.log();
  EXPECT_EQ(bench.delivered_ml(), held_at);
  EXPECT_EQ(bench.stop(), 0);
  EXPECT_EQ(run_program({limegate_path(), "release", bench.config(), "rule-leak"}).code, 0);
  bench.start();
  ASSERT_TRUE(bench.wait_for([&] { return bench.delivered_ml() > held_at; })) << bench.log();
  EXPECT_EQ(bench.stop(), 0);
}

TEST(OwnerRules, an_input_by_mqtt_holds_while_it_says_so_and_once_it_is_silent) {
  Broker broker;
  broker.start();
  Bench::Plan from_afar;
  from_afar.more = R"(
[[station.input]]
name = "leak"
mqtt_topic = "house/sump/leak"
kind = "digital"
max_age_s = 36000
usual = "off"
[[station.rule]]
name = "leak"
when = { input = "leak", is = "on" }
effect = "hold"
[mqtt]
broker = "mqtt://127.0.0.1:)" +
                   std::to_string(broker.port()) + "\"\n";
  Bench bench{from_afar};
  bench.prepare();
  bench.start();
  const auto says = [&](const char* payload, const std::function<bool()>& done) {
    bench.run_freely();
    return wait_until([&] {
      broker.publish("house/sump/leak", payload);
      return done();
    });
  };
  ASSERT_TRUE(bench.let_pass(2h)) << bench.log();
  EXPECT_EQ(bench.delivered_ml(), 0) << "nothing was said yet";
  ASSERT_TRUE(says("off", [&] { return bench.delivered_ml() > 0; })) << bench.log();
  ASSERT_TRUE(says("on", [&] { return contains(bench.log(), "The rule leak holds: leak is on."); }))
      << bench.log();
  ASSERT_TRUE(bench.wait_for([&] { return !bench.pump_on(); })) << bench.log();
  const double held_at = bench.delivered_ml();
  ASSERT_TRUE(bench.let_pass(3h)) << bench.log();
  EXPECT_EQ(bench.delivered_ml(), held_at);
  ASSERT_TRUE(says("off", [&] { return bench.delivered_ml() > held_at; })) << bench.log();
  broker.kill();
  ASSERT_TRUE(bench.let_pass(11h)) << bench.log();
  const double silent_at = bench.delivered_ml();
  EXPECT_TRUE(contains(bench.log(), "long-rule-leak-unknown")) << bench.log();
  ASSERT_TRUE(bench.let_pass(3h)) << bench.log();
  EXPECT_EQ(bench.delivered_ml(), silent_at);
  EXPECT_EQ(bench.stop(), 0);
}

TEST(OwnerRules, a_gpio_chip_that_is_not_there_holds_and_is_named) {
  if (!gpio::built_in()) {
    GTEST_SKIP() << "built without GPIO";
  }
  Bench::Plan with_gpio;
  with_gpio.more = R"(
[[station.input]]
name = "feeding"
gpio_chip = "/dev/gpiochip99"
gpio_line = 4
usual = "off"
[[station.rule]]
name = "feeding"
when = { input = "feeding", is = "on" }
effect = "hold"
)";
  Bench bench{with_gpio};
  bench.prepare();
  bench.start();
  ASSERT_TRUE(bench.let_pass(2h)) << bench.log();
  EXPECT_EQ(bench.delivered_ml(), 0);
  EXPECT_TRUE(contains(bench.log(), "The input feeding (/dev/gpiochip99, line 4) can't be reached"))
      << bench.log();
  EXPECT_TRUE(contains(bench.log(), "nothing is known of feeding")) << bench.log();
  EXPECT_EQ(bench.stop(), 0);
}

TEST(OwnerRules, are_read_back_by_check_and_rehearsed_at_their_usual_values) {
  Bench bench{plan()};
  const Ran check = run_program({limegate_path(), "check", bench.config()});
  EXPECT_EQ(check.code, 0);
  EXPECT_TRUE(
      contains(check.output,
               "return-pump-stopped: Hold dosing when return-pump is off, or at once when "
               "nothing is known of it; dosing may go on once that has been over for 30 s."))
      << check.output;
  const Ran rehearsed = run_program({limegate_path(), "rehearse", bench.config(), "--days", "2",
                                     "--fault", "bus-silent@1d:2h", "--json"});
  EXPECT_EQ(rehearsed.code, 0) << rehearsed.output;
  const auto outcome = nlohmann::json::parse(rehearsed.output).at(0);
  EXPECT_GT(outcome.at("delivered_ml").get<double>(), 1000);
  EXPECT_NEAR(outcome.at("held_h").at("rule-leak-unknown").get<double>(), 2.0, 0.1);
  EXPECT_LT(outcome.at("held_h").at("rule-leak").get<double>(), 0.1) << "the time of a release";
}

}  // namespace
}  // namespace limegate::test
