// What the shell carries over when a ledger that could not be read at the start is read at last.

#include "shell/station_shell.h"

#include <string>
#include <variant>
#include <vector>

#include <gtest/gtest.h>

namespace limegate::shell {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

/// A ledger that cannot write until it is mended, and remembers what was written.
struct Ledger : LedgerPort {
  void write(const std::string& /*station*/, const station::Entry& entry, WallTime /*now*/,
             Reply reply) override {
    if (sound) {
      written.push_back(entry);
      reply(std::nullopt);
    } else {
      reply("disk full");
    }
  }
  template <class Kind>
  [[nodiscard]] std::vector<Kind> all() const {
    std::vector<Kind> found;
    for (const station::Entry& entry : written) {
      if (const auto* kind = std::get_if<Kind>(&entry)) {
        found.push_back(*kind);
      }
    }
    return found;
  }
  bool sound = false;
  std::vector<station::Entry> written;
};
struct Clock : ports::Clock {
  [[nodiscard]] Moment now() const override { return moment; }
  Moment moment{Instant{100h}, WallTime{500000h}};
};
struct OffOutlet : ports::Outlet {
  void run_for(Duration /*duration*/, Instant /*send_before*/, Reply reply) override {
    reply(ports::OutletState::off);
  }
  void off(Reply reply) override { reply(ports::OutletState::off); }
  void read_back(Reply reply) override { reply(ports::OutletState::off); }
};
struct NoStore : guard::RecordStore {
  void save(const guard::Record& /*record*/, Reply reply) override { reply(Saved::durably); }
};

class BlindStart : public testing::Test {
 protected:
  BlindStart() { shell.begin(std::nullopt); }

  static station::Settings settings() {
    station::Settings settings;
    settings.name = "reef";
    settings.ph = {7.1, 9.2};
    settings.temperature = {15.0, 35.0};
    return settings;
  }
  void run(Duration lasting, double ph) {
    for (Duration passed{}; passed < lasting; passed += 1s) {
      clock.moment.mono += 1s;
      clock.moment.wall += 1s;
      shell.observe(station::ProbeSample{rules::Role::ph, ph});
      shell.observe(station::ProbeSample{rules::Role::temperature, 25.0});
      shell.step();
    }
  }

  Ledger ledger;
  Clock clock;
  StationShell shell{settings(),
                     {ledger, clock, "boot", std::make_unique<OffOutlet>(),
                      std::make_unique<OffOutlet>(), std::make_unique<NoStore>(), std::nullopt,
                      [](const std::string&, const station::Event&) {}, [](const std::string&) {}}};
};

TEST_F(BlindStart, keeps_a_latch_when_the_ledger_can_be_read_at_last) {
  run(1min, 8.65);
  ASSERT_EQ(shell.core().latches(), std::vector<std::string>{"ph-second-ceiling"});
  ledger.sound = true;
  shell.recover({});
  EXPECT_EQ(shell.core().latches(), std::vector<std::string>{"ph-second-ceiling"});
  const auto stored = ledger.all<station::StoreLatch>();
  ASSERT_EQ(stored.size(), 1U);
  EXPECT_EQ(stored[0].code, "ph-second-ceiling");
  EXPECT_EQ(stored[0].to, station::StoreLatch::To::latched);
}

TEST_F(BlindStart, keeps_a_pause) {
  run(1min, 8.2);
  ASSERT_EQ(shell.command(station::Pause{2h}, station::Origin::afar).verdict,
            station::Answer::Verdict::accepted);
  run(30min, 8.2);
  ledger.sound = true;
  shell.recover({});
  EXPECT_EQ(shell.core().status(clock.moment).pause_remaining, 90min);
  EXPECT_EQ(ledger.all<station::StoreWish>().size(), 1U);
}

TEST_F(BlindStart, takes_what_the_ledger_knows_beside_it) {
  run(1min, 8.65);
  ledger.sound = true;
  station::History known;
  known.latches = {"pump-stuck-on", "ph-second-ceiling"};
  shell.recover(known);
  EXPECT_EQ(shell.core().latches().size(), 2U);
}

}  // namespace
}  // namespace limegate::shell
