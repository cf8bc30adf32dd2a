// What the shell carries over when a ledger that could not be read at the start is read at last.

#include "shell/station_shell.h"

#include <algorithm>
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
struct Store : guard::RecordStore {
  explicit Store(std::vector<guard::Record>& to) : saved(to) {}
  void save(const guard::Record& record, Reply reply) override {
    saved.push_back(record);
    reply(Saved::durably);
  }
  std::vector<guard::Record>& saved;
};

class BlindStart : public testing::Test {
 protected:
  BlindStart() { shell.begin(std::nullopt); }

  static station::Settings settings() {
    station::Settings settings;
    settings.name = "reef";
    settings.limits.hour = Millilitres{200.0};
    settings.limits.day = settings.plan.day_volume = Millilitres{720.0};
    settings.plan.pulse_max = Millilitres{30.0};
    settings.plan.pump_rate = MillilitresPerMinute{40.0};
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
  [[nodiscard]] StationShell::Parts parts(const std::optional<guard::Record>& record) {
    return {ledger,
            clock,
            "boot",
            std::make_unique<OffOutlet>(),
            std::make_unique<OffOutlet>(),
            std::make_unique<Store>(saved),
            record,
            [](const std::string&, const station::Event&) {},
            [](const std::string&) {}};
  }
  std::vector<guard::Record> saved;  ///< by the guard
  StationShell shell{settings(), parts(std::nullopt)};
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
  ASSERT_FALSE(ledger.all<station::StoreWish>().empty());
  EXPECT_EQ(ledger.all<station::StoreWish>().back().wish.lasting, 90min);
}

TEST_F(BlindStart, keeps_a_volume_that_was_asked_for) {
  run(1min, 8.2);
  const auto ask = [&](double volume, station::Origin origin) {
    return shell.command(station::SetDayVolume{Millilitres{volume}}, origin).verdict;
  };
  ASSERT_EQ(ask(300.0, station::Origin::station), station::Answer::Verdict::accepted);
  ASSERT_EQ(ask(0.0, station::Origin::afar), station::Answer::Verdict::accepted);
  ledger.sound = true;
  shell.recover({});
  EXPECT_EQ(shell.core().status(clock.moment).day_volume, Millilitres{0.0});
  EXPECT_EQ(shell.core().status(clock.moment).day_volume_at_station, Millilitres{300.0});
  const auto stored = ledger.all<station::StoreWish>();
  const auto kept = [&](station::Wish::What what, double volume) {
    return std::any_of(stored.begin(), stored.end(), [&](const station::StoreWish& one) {
      return one.wish.what == what && one.wish.volume == Millilitres{volume};
    });
  };
  EXPECT_TRUE(kept(station::Wish::What::volume_at_station, 300.0));
  EXPECT_TRUE(kept(station::Wish::What::volume_from_afar, 0.0));
}

TEST_F(BlindStart, takes_what_the_ledger_knows_beside_it) {
  run(1min, 8.65);
  ledger.sound = true;
  station::History known;
  known.latches = {"pump-stuck-on", "ph-second-ceiling"};
  shell.recover(known);
  EXPECT_EQ(shell.core().latches().size(), 2U);
}

TEST_F(BlindStart, knows_what_waits_for_a_person_and_what_the_keeper_asked_for_by_the_copy) {
  guard::Record record;
  record.kept.emplace();
  record.kept->latches = {"pump-stuck-on"};
  record.kept->wishes = {{static_cast<int>(station::Wish::What::pause_at_station), Millilitres{},
                          2h, 100h, clock.moment.wall}};
  StationShell other{settings(), parts(record)};
  other.begin(std::nullopt);
  EXPECT_EQ(other.core().latches(), std::vector<std::string>{"pump-stuck-on"});
  EXPECT_EQ(other.core().status(clock.moment).pause_remaining, 2h);
  EXPECT_TRUE(saved.empty()) << "a copy is not written over before the ledger was read";
}

// What is kept from then on is not all that there was, and the copy must not look as if it were.
TEST_F(BlindStart, without_a_copy_marks_its_own_as_incomplete) {
  run(1min, 8.65);
  ASSERT_FALSE(saved.empty());
  EXPECT_EQ(saved.back().kept->latches, (std::vector<std::string>{"record", "ph-second-ceiling"}));
}

class SecondCopyTest : public BlindStart {
 protected:
  SecondCopyTest() { ledger.sound = true; }
};

TEST_F(SecondCopyTest, is_written_at_the_first_start) {
  shell.begin(station::History{});
  ASSERT_EQ(saved.size(), 1U);
  EXPECT_EQ(saved[0].kept, guard::Kept{});
}

TEST_F(SecondCopyTest, takes_what_the_ledger_knows) {
  station::History known;
  known.latches = {"pump-stuck-on"};
  known.wishes = {{station::Wish::What::volume_from_afar, Millilitres{100.0}, {}, {}}};
  shell.begin(known);
  ASSERT_EQ(saved.size(), 1U);
  EXPECT_EQ(saved[0].kept->latches, known.latches);
  ASSERT_EQ(saved[0].kept->wishes.size(), 1U);
  EXPECT_EQ(saved[0].kept->wishes[0].volume, Millilitres{100.0});
}

TEST_F(SecondCopyTest, follows_every_latch_and_wish) {
  shell.begin(station::History{});
  run(1min, 8.65);
  EXPECT_EQ(saved.back().kept->latches, (std::vector<std::string>{"ph-second-ceiling"}));
  (void)shell.command(station::Pause{2h}, station::Origin::station);
  ASSERT_EQ(saved.back().kept->wishes.size(), 1U);
  (void)shell.command(station::Pause{3h}, station::Origin::station);
  ASSERT_EQ(saved.back().kept->wishes.size(), 1U);
  EXPECT_EQ(saved.back().kept->wishes[0].lasting, 3h);
  (void)shell.command(station::Resume{}, station::Origin::station);
  EXPECT_TRUE(saved.back().kept->wishes.empty());
  run(10min, 8.2);
  ASSERT_EQ(shell.command(station::Release{"ph-second-ceiling"}, station::Origin::station).verdict,
            station::Answer::Verdict::accepted);
  EXPECT_TRUE(saved.back().kept->latches.empty());
}

TEST_F(SecondCopyTest, is_written_although_the_ledger_fails) {
  shell.begin(station::History{});
  ledger.sound = false;
  run(1min, 8.65);
  EXPECT_EQ(saved.back().kept->latches, (std::vector<std::string>{"ph-second-ceiling"}));
}

/// A station that was released while no daemon ran.
class NotedRelease : public BlindStart {
 protected:
  NotedRelease() { ledger.sound = true; }
  void begin(std::vector<std::string> latches) {
    station::History history;
    history.latches = std::move(latches);
    shell.begin(history);
  }
  /// What the ledger and the guard's copy hold in the end.
  [[nodiscard]] bool released(const std::string& code) const {
    const auto stored = ledger.all<station::StoreLatch>();
    const auto& copied = saved.back().kept->latches;
    return std::any_of(stored.begin(), stored.end(),
                       [&](const station::StoreLatch& one) {
                         return one.code == code && one.to == station::StoreLatch::To::released;
                       }) &&
           std::find(copied.begin(), copied.end(), code) == copied.end();
  }
};

TEST_F(NotedRelease, takes_effect_once_its_condition_was_seen) {
  begin({"ph-second-ceiling", "noted-release-ph-second-ceiling"});
  run(1min, 8.5);
  EXPECT_EQ(shell.core().latches(), std::vector<std::string>{"ph-second-ceiling"});
  EXPECT_FALSE(released("noted-release-ph-second-ceiling"));
  run(1min, 8.3);
  EXPECT_TRUE(shell.core().latches().empty());
  EXPECT_TRUE(released("ph-second-ceiling"));
  EXPECT_TRUE(released("noted-release-ph-second-ceiling"));
}

TEST_F(NotedRelease, is_given_up_when_its_cause_is_seen_to_be_there) {
  begin({"ph-second-ceiling", "noted-release-ph-second-ceiling"});
  run(5min, 8.5);
  EXPECT_TRUE(released("noted-release-ph-second-ceiling"));
  EXPECT_FALSE(released("ph-second-ceiling"));
  run(30min, 8.68);  // beyond the second ceiling again, after the person's word
  run(1h, 8.2);
  EXPECT_EQ(shell.core().latches(), std::vector<std::string>{"ph-second-ceiling"});
}

TEST_F(NotedRelease, of_a_climb_is_given_up_when_it_was_watched_and_goes_on) {
  begin({"ph-climb-goes-on", "noted-release-ph-climb-goes-on"});
  run(2min, 8.2);
  shell.observe(station::ProbeSample{rules::Role::ph, std::nullopt});
  EXPECT_FALSE(shell.core().latches().empty()) << "two minutes are not enough for it";
}

TEST_F(NotedRelease, does_not_release_what_was_asked_for_after_it) {
  begin({"switched-off", "noted-release-switched-off"});
  ASSERT_EQ(shell.command(station::SwitchAllOff{}, station::Origin::station).verdict,
            station::Answer::Verdict::accepted);
  run(10min, 8.2);
  EXPECT_EQ(shell.core().latches(), std::vector<std::string>{"switched-off"});
  EXPECT_TRUE(released("noted-release-switched-off"));
}

TEST_F(NotedRelease, without_its_latch_releases_no_new_one) {
  begin({"noted-release-ph-second-ceiling"});
  run(10min, 8.2);
  EXPECT_TRUE(released("noted-release-ph-second-ceiling"));
  run(10min, 8.68);
  ASSERT_EQ(shell.core().latches(), std::vector<std::string>{"ph-second-ceiling"});
  run(10min, 8.3);
  EXPECT_EQ(shell.core().latches(), std::vector<std::string>{"ph-second-ceiling"});
}

TEST_F(NotedRelease, whose_rows_were_lost_releases_no_later_latch) {
  begin({"ph-second-ceiling", "noted-release-ph-second-ceiling"});
  ledger.sound = false;
  run(5min, 8.2);
  EXPECT_TRUE(shell.core().latches().empty());
  shell.observe(station::LedgerFault{"disk full"});
  run(10min, 8.68);
  ledger.sound = true;
  station::History again;
  again.latches = {"ph-second-ceiling", "noted-release-ph-second-ceiling"};
  shell.recover(again);
  run(10min, 8.3);
  EXPECT_EQ(shell.core().latches(), std::vector<std::string>{"ph-second-ceiling"});
}

TEST_F(NotedRelease, of_a_climb_waits_until_half_an_hour_was_watched) {
  begin({"ph-climb-goes-on", "noted-release-ph-climb-goes-on"});
  run(25min, 8.2);
  EXPECT_FALSE(shell.core().latches().empty());
  run(10min, 8.2);
  EXPECT_TRUE(shell.core().latches().empty());
}

TEST_F(NotedRelease, of_what_nothing_at_the_station_shows_takes_effect_at_once) {
  begin({"record", "from-a-newer-version", "noted-release-record",
         "noted-release-from-a-newer-version"});
  run(1s, 8.2);
  EXPECT_TRUE(shell.core().latches().empty());
}

TEST_F(NotedRelease, is_given_up_over_a_ledger_that_cannot_be_written) {
  begin({"ph-second-ceiling", "noted-release-ph-second-ceiling"});
  shell.observe(station::LedgerFault{"disk full"});
  run(1h, 8.2);
  EXPECT_FALSE(shell.core().latches().empty());
  station::History again;
  again.latches = {"ph-second-ceiling", "noted-release-ph-second-ceiling"};
  shell.recover(again);
  run(10s, 8.2);
  EXPECT_EQ(shell.core().latches(), std::vector<std::string>{"ph-second-ceiling"});
  EXPECT_TRUE(released("noted-release-ph-second-ceiling"));
}

}  // namespace
}  // namespace limegate::shell
