#include <csignal>

#include <fmt/format.h>
#include <gtest/gtest.h>

#include "app/bench.h"
#include "support/places.h"
#include "support/test_clocks.h"
#include "support/wait_until.h"

namespace limegate::test {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

TEST(ObservedStirrer, is_never_switched_and_dosing_waits_for_it_to_rest_and_settle) {
  Bench::Plan plan;
  plan.observed_stirrer = true;
  Bench bench{plan};
  bench.prepare();
  bench.slave().set_input(Bench::kBoard, Bench::kStirrerInput, true);
  bench.start();
  ASSERT_TRUE(bench.let_pass(2h)) << bench.log();
  EXPECT_EQ(bench.delivered_ml(), 0) << "dosed while the stirrer was seen running";
  bench.slave().set_input(Bench::kBoard, Bench::kStirrerInput, false);
  ASSERT_TRUE(bench.let_pass(19min));
  EXPECT_EQ(bench.delivered_ml(), 0) << "dosed before it had settled";
  ASSERT_TRUE(bench.let_pulse_begin()) << bench.log();
  // Its timer starts it in the middle of a pulse.
  ASSERT_TRUE(bench.let_pass(2s));
  bench.slave().set_input(Bench::kBoard, Bench::kStirrerInput, true);
  ASSERT_TRUE(bench.let_pass(3s));
  EXPECT_FALSE(bench.pump_on()) << bench.log();
  const double before = bench.delivered_ml();
  ASSERT_TRUE(bench.let_pass(15min));
  bench.slave().set_input(Bench::kBoard, Bench::kStirrerInput, false);
  ASSERT_TRUE(bench.let_pass(19min));
  EXPECT_EQ(bench.delivered_ml(), before);
  ASSERT_TRUE(bench.wait_for([&] { return bench.delivered_ml() > before; })) << bench.log();
  EXPECT_EQ(bench.stop(), 0);
  for (const OutletChange& change : bench.slave().log()) {
    EXPECT_EQ(change.address, Bench::kPump) << "an observed stirrer was switched";
  }
}

TEST(Silence, reaches_a_person_after_six_hours_and_again) {
  Bench bench{{}};
  bench.show_ph(8.50);
  bench.prepare();
  bench.start();
  ASSERT_TRUE(bench.let_pass(25h)) << bench.log();
  for (const char* hours : {"6 h 00 min", "12 h 00 min", "24 h 00 min"}) {
    EXPECT_TRUE(contains(bench.log(),
                         std::string{"event=dosing-stopped No limewater was dosed for "} + hours))
        << hours << "\n"
        << bench.log();
  }
  EXPECT_TRUE(contains(bench.log(), "error: station=reef event=dosing-below-plan")) << bench.log();
  EXPECT_EQ(bench.stop(), 0);
}

TEST(Temperature, outside_what_a_reef_likes_is_told_long_before_it_holds) {
  Bench bench{{}};
  bench.show_temperature(29.6);
  bench.prepare();
  bench.start();
  ASSERT_TRUE(bench.let_pass(45min)) << bench.log();
  EXPECT_TRUE(contains(bench.log(), "error: station=reef event=temperature-unusual"))
      << bench.log();
  EXPECT_GT(bench.delivered_ml(), 0) << "it is news, not a hold";
  EXPECT_EQ(bench.stop(), 0);
}

// Real time: a bus whose unit never answers must not slow the polls of the other one.
TEST(TwoStations, a_dead_bus_delays_no_other) {
  const TempDir folder;
  const MachineClock clock;
  Slave alive{Slave::Transport::tcp, clock};
  Slave dead{Slave::Transport::tcp, clock};
  std::string text = "[daemon]\nstate_dir = \"state\"\n";
  std::string stations;
  for (auto* slave : {&alive, &dead}) {
    slave->set_holding(1, 0, 820);
    slave->set_holding(1, 1, 255);
    RelayOutlet relay;
    relay.unit = 2;
    relay.timed_register = 10;
    slave->add_outlet(relay);
    relay.address = 1;
    relay.timed_register = 11;
    slave->add_outlet(relay);
    const char* name = slave == &alive ? "alive" : "dead";
    text += fmt::format(
        "[[bus]]\nname = \"{}\"\ntype = \"modbus-tcp\"\nhost = \"127.0.0.1\"\n"
        "tcp_port = {}\nreply_timeout_ms = 5000\n",
        name, slave->port());
    stations += fmt::format(R"([[station]]
name = "{0}"
water_volume_l = 400
evaporation_ml_per_day = 4000
reactor_bore_mm = 100
ph = {{ bus = "{0}", unit = 1, address = 0, scale = 0.01 }}
temperature = {{ bus = "{0}", unit = 1, address = 1, scale = 0.1 }}
pump = {{ bus = "{0}", unit = 2, address = 0, timed_on_register = 10, rate_ml_per_min = 50, rate_measured = 2026-11-20 }}
stirrer = {{ bus = "{0}", unit = 2, address = 1, timed_on_register = 11 }}
plan = {{ day_volume_ml = 1000 }}
)",
                            name);
  }
  const std::string config = folder.path() + "/two.toml";
  write_file(config, text + stations);
  ASSERT_EQ(run_program({limegate_path(), "prepare", config}).code, 0);
  SlaveFault silence{Misbehaviour::silent};
  silence.requests = 1'000'000;
  dead.script(silence);
  Program daemon{{limegate_path(), "run", config}, folder.path() + "/log"};
  ASSERT_TRUE(wait_until([&] {
    return contains(daemon.output(), "station=alive event=cleared-ph-missing");
  })) << daemon.output();
  // One read a second for both of its probes, which lie side by side: four come while the other bus
  // waits 5 s for one answer. If it delayed them, one would come at the most. On a machine too busy
  // for four in one wait the next one will do.
  int waits = 0;
  int reads = 0;
  while (reads < 4 && waits < 5) {
    const int asked = dead.requests();
    ASSERT_TRUE(wait_until([&] { return dead.requests() > asked; })) << daemon.output();
    const int before = alive.requests(1);
    const int now_asked = dead.requests();
    ASSERT_TRUE(wait_until([&] {
      reads = alive.requests(1) - before;
      return reads >= 4 || dead.requests() > now_asked;
    })) << daemon.output();
    ++waits;
  }
  EXPECT_GE(reads, 4) << daemon.output();
  EXPECT_FALSE(contains(daemon.output(), "station=dead event=cleared-ph-missing"));
  daemon.signal(SIGTERM);
  EXPECT_EQ(daemon.wait(60s), 1) << "the dead station's outlets can't be confirmed";
}

}  // namespace
}  // namespace limegate::test
