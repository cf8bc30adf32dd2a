// The lives of a state directory on real parts: lost, moved, copied, put back, and of the release
// before.

#include <chrono>
#include <filesystem>

#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include "app/bench.h"
#include "support/places.h"

namespace limegate::test {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
namespace fs = std::filesystem;

Bench::Plan quick_plan() {
  Bench::Plan plan;
  plan.max_pulse_ml = 12.5;
  plan.poll_s = 5;
  return plan;
}

std::string replaced(std::string text, const std::string& from, const std::string& to) {
  const auto at = text.find(from);
  EXPECT_NE(at, std::string::npos) << from;
  return at == std::string::npos ? text : text.replace(at, from.size(), to);
}

class LivesOn : public testing::Test {
 protected:
  explicit LivesOn(Slave::Transport wire) : bench_{quick_plan(), wire} {
    // What is known outside the state directory has stamps of the wall clock alone.
    bench_.clock().step_wall(std::chrono::system_clock::now() - bench_.clock().now().wall);
  }
  void dose_and_stop() {
    const double before = bench_.delivered_ml();
    bench_.start();
    ASSERT_TRUE(bench_.wait_for([&] { return bench_.delivered_ml() > before + 20; }))
        << bench_.log();
    ASSERT_EQ(bench_.stop(), 0);
  }
  /// Nothing is given for some hours, and a person is told this.
  void expect_full(const std::string& message) {
    const double before = bench_.delivered_ml();
    bench_.start();
    ASSERT_TRUE(bench_.let_pass(4h)) << bench_.log();
    EXPECT_EQ(bench_.delivered_ml(), before) << bench_.log();
    EXPECT_TRUE(contains(bench_.log(), message)) << bench_.log();
    bench_.run_freely();
    EXPECT_EQ(run({"status", bench_.config(), "--json"}), 0);
    const std::string json = said_;
    EXPECT_EQ(run({"status", bench_.config()}), 0);
    EXPECT_EQ(contains(said_, "counted: all of "), contains(json, "\"given_day_ml\": null"));
    EXPECT_EQ(bench_.stop(), 0);
  }
  void expect_dosing() {
    const double before = bench_.delivered_ml();
    bench_.start();
    ASSERT_TRUE(bench_.let_pass(4h)) << bench_.log();
    EXPECT_GT(bench_.delivered_ml(), before) << bench_.log();
    EXPECT_EQ(bench_.stop(), 0);
  }
  [[nodiscard]] int run(std::vector<std::string> arguments) {
    arguments.insert(arguments.begin(), limegate_path());
    const Ran ran = run_program(arguments);
    said_ = ran.output;
    return ran.code;
  }
  void second_ceiling() {
    bench_.start();
    // Until a pulse is due: a climb is known after half an hour.
    ASSERT_TRUE(bench_.let_pass(45min)) << bench_.log();
    bench_.show_ph(8.66);
    ASSERT_TRUE(bench_.let_pass(2min));
    bench_.show_ph(8.20);
    ASSERT_EQ(bench_.stop(), 0);
    ASSERT_EQ(bench_.ledger_number(kLatched), 1);
  }
  void remove(const std::string& name) const { fs::remove(bench_.state_dir() + "/" + name); }

  static constexpr const char* kLatched =
      "SELECT count(*) FROM latches WHERE code = 'ph-second-ceiling'";
  static constexpr const char* kOff = "SELECT count(*) FROM latches WHERE code = 'switched-off'";
  Bench bench_;
  std::string said_;
};
class Lives : public LivesOn {
 protected:
  Lives() : LivesOn(Slave::Transport::tcp) {}
};
class LivesOnEachWire : public LivesOn, public testing::WithParamInterface<Slave::Transport> {
 protected:
  LivesOnEachWire() : LivesOn(GetParam()) {}
};
INSTANTIATE_TEST_SUITE_P(, LivesOnEachWire,
                         testing::Values(Slave::Transport::tcp, Slave::Transport::pty),
                         [](const auto& row) {
                           return row.param == Slave::Transport::tcp ? "tcp" : "pty";
                         });

TEST_F(Lives, a_directory_that_was_put_back_counts_as_full_until_a_person_settles_it) {
  bench_.prepare();
  dose_and_stop();
  const std::string older = bench_.state_dir() + "-older";
  fs::copy(bench_.state_dir(), older, fs::copy_options::recursive);
  dose_and_stop();
  fs::remove_all(bench_.state_dir());
  fs::rename(older, bench_.state_dir());
  expect_full("older than what its witness");
  EXPECT_EQ(run({"prepare", bench_.config(), "--moved-here"}), 0) << said_;
  expect_dosing();
}

TEST_F(Lives, nobody_settles_what_no_start_has_looked_at) {
  bench_.prepare();
  dose_and_stop();
  const std::string older = bench_.state_dir() + "-older";
  fs::copy(bench_.state_dir(), older, fs::copy_options::recursive);
  dose_and_stop();
  fs::remove_all(bench_.state_dir());
  fs::rename(older, bench_.state_dir());
  EXPECT_NE(run({"prepare", bench_.config(), "--moved-here"}), 0);
  EXPECT_TRUE(contains(said_, "is not the newest of its water")) << said_;
  expect_full("older than what its witness");
}

// No pulse between: nothing but the witness can tell that this note is not the newest word.
TEST_F(Lives, a_note_that_was_put_back_releases_no_later_off) {
  bench_.prepare();
  bench_.start();
  ASSERT_TRUE(bench_.let_pass(5min));
  const auto off = [&] {
    bench_.run_freely();
    (void)run({"off", bench_.config()});
    ASSERT_TRUE(bench_.wait_for([this] { return bench_.ledger_number(kOff) == 1; })) << said_;
    ASSERT_TRUE(bench_.let_pass(1min));
    EXPECT_EQ(bench_.stop(), 0);
  };
  off();
  EXPECT_EQ(run({"release", bench_.config(), "switched-off"}), 0) << said_;
  const std::string older = bench_.state_dir() + "-older";
  fs::copy(bench_.state_dir(), older, fs::copy_options::recursive);
  bench_.start();
  ASSERT_TRUE(bench_.wait_for([this] { return bench_.ledger_number(kOff) == 0; })) << bench_.log();
  off();
  fs::remove_all(bench_.state_dir());
  fs::rename(older, bench_.state_dir());
  bench_.start();
  ASSERT_TRUE(bench_.let_pass(2h)) << bench_.log();
  EXPECT_EQ(bench_.ledger_number(kOff), 1) << bench_.log();
  EXPECT_EQ(bench_.stop(), 0);
}

TEST_F(Lives, a_directory_at_another_place_counts_as_full_until_a_person_settles_it) {
  bench_.prepare();
  dose_and_stop();
  const std::string there = bench_.state_dir() + "-elsewhere";
  fs::rename(bench_.state_dir(), there);
  write_file(bench_.config(),
             replaced(read_file(bench_.config()), "\"state\"", "\"state-elsewhere\""));
  expect_full("comes from another place");
  EXPECT_EQ(run({"prepare", bench_.config(), "--moved-here", "--never-dosed"}), 2) << said_;
  EXPECT_EQ(run({"prepare", bench_.config(), "--moved-here"}), 0) << said_;
  expect_dosing();
}

TEST_F(Lives, a_directory_that_was_removed_and_prepared_anew_begins_with_a_full_day) {
  bench_.prepare();
  dose_and_stop();
  fs::remove_all(bench_.state_dir());
  EXPECT_EQ(run({"prepare", bench_.config()}), 0);
  EXPECT_TRUE(contains(said_, "--never-dosed")) << said_;
  expect_full("counts as full");
  fs::remove_all(bench_.state_dir());
  EXPECT_EQ(run({"prepare", bench_.config(), "--never-dosed"}), 0);
  EXPECT_TRUE(contains(said_, "begins empty")) << said_;
  expect_dosing();
}

TEST_F(Lives, a_directory_that_was_removed_begins_empty_at_once_if_a_person_says_so) {
  bench_.prepare();
  dose_and_stop();
  fs::remove_all(bench_.state_dir());
  EXPECT_EQ(run({"prepare", bench_.config(), "--never-dosed"}), 0);
  EXPECT_TRUE(contains(said_, "begins empty")) << said_;
  expect_dosing();
}

// The guard's record has what a lost ledger had; a person's word on the water does not undo it.
TEST_F(Lives, prepared_anew_beside_a_guards_record_of_before_says_what_to_do) {
  bench_.prepare();
  dose_and_stop();
  const auto lose_ledger = [&] {
    for (const char* file : {"ledger.db", "ledger.db-wal", "ledger.db-shm"}) {
      remove(file);
    }
  };
  lose_ledger();
  const std::string record = bench_.state_dir() + "/guard-reef";
  ASSERT_TRUE(fs::exists(record));
  EXPECT_EQ(run({"prepare", bench_.config(), "--never-dosed"}), 2) << said_;
  EXPECT_TRUE(contains(said_, record)) << said_;
  EXPECT_TRUE(contains(said_, "move that file away")) << said_;
  EXPECT_FALSE(fs::exists(bench_.state_dir() + "/ledger.db"));
  EXPECT_EQ(run({"prepare", bench_.config()}), 0) << said_;
  EXPECT_TRUE(contains(said_, record)) << said_;
  expect_full("count as full");
  EXPECT_TRUE(contains(said_, "counted: all of ")) << "unknown is no number: " << said_;
  lose_ledger();
  fs::remove(record);
  EXPECT_EQ(run({"prepare", bench_.config(), "--never-dosed"}), 0) << said_;
  EXPECT_TRUE(contains(said_, "begins empty")) << said_;
  expect_dosing();
}

// Found by an attack: it "began empty", and its first start counted a full day.
TEST(Prepare, of_a_station_that_is_added_beside_a_guards_record_of_before_says_so) {
  const TempDir folder;
  const std::string file = folder.path() + "/two.toml";
  const std::string one = read_file(source_dir() + "/config/examples/simulated.toml");
  write_file(file, one);
  ASSERT_EQ(run_program({limegate_path(), "prepare", file}).code, 0);
  const std::string record = folder.path() + "/limegate-simulated/guard-frags";
  write_file(record, "of another water");
  write_file(file, one + replaced(one.substr(one.find("[[station]]")), "demo-reef", "frags"));
  const Ran ran = run_program({limegate_path(), "prepare", file, "--never-dosed"});
  EXPECT_EQ(ran.code, 0) << ran.output;
  EXPECT_TRUE(contains(ran.output, record + " was there before")) << ran.output;
  EXPECT_FALSE(contains(ran.output, "begins empty")) << ran.output;
}

TEST(Prepare, is_of_one_station_where_that_is_asked_for) {
  const TempDir folder;
  const std::string file = folder.path() + "/two.toml";
  const std::string one = read_file(source_dir() + "/config/examples/simulated.toml");
  write_file(file, one + replaced(one.substr(one.find("[[station]]")), "demo-reef", "frags"));
  const Ran none = run_program({limegate_path(), "prepare", file, "--station", "nowhere"});
  EXPECT_EQ(none.code, 2);
  EXPECT_TRUE(contains(none.output, "--station must name a station of the file")) << none.output;
  const auto added = [&](std::vector<std::string> more) {
    more.insert(more.begin(), {limegate_path(), "prepare", file, "--json"});
    const Ran ran = run_program(more);
    EXPECT_EQ(ran.code, 0) << ran.output;
    return nlohmann::json::parse(ran.output).at("added").dump();
  };
  EXPECT_EQ(added({"--station", "frags"}), R"(["frags"])");
  EXPECT_EQ(added({}), R"(["demo-reef"])");
  EXPECT_EQ(
      run_program({limegate_path(), "prepare", file, "--station", "frags", "--moved-here"}).code,
      2);
}

// Found by an attack: it began a day that was lost, and a latch, for a station that was only new.
TEST(Release, of_a_station_that_nobody_prepared_begins_nothing) {
  Bench bench{{}};
  const Ran ran = run_program({limegate_path(), "release", bench.config(), "record"});
  EXPECT_EQ(ran.code, 2);
  EXPECT_TRUE(contains(ran.output, "Prepare it first: limegate prepare")) << ran.output;
  EXPECT_FALSE(fs::exists(bench.state_dir()));
  const Ran prepared = run_program({limegate_path(), "prepare", bench.config()});
  EXPECT_TRUE(contains(prepared.output, "its ledger begins empty")) << prepared.output;
}

TEST_P(LivesOnEachWire, a_second_daemon_on_a_copy_of_the_directory_is_refused) {
  bench_.prepare();
  bench_.start();
  ASSERT_TRUE(bench_.let_pulse_begin()) << bench_.log();
  const std::string copy = bench_.state_dir() + "-copy";
  fs::create_directory(copy);
  fs::copy_file(bench_.state_dir() + "/ledger.db", copy + "/ledger.db");
  const std::string config = bench_.config() + ".copy.toml";
  write_file(config, replaced(read_file(bench_.config()), "\"state\"", "\"state-copy\""));
  const auto changes = bench_.slave().log().size();
  EXPECT_EQ(run({"run", config}), 3);
  EXPECT_TRUE(contains(said_, "another limegate on this machine switches the pump")) << said_;
  EXPECT_EQ(bench_.slave().log().size(), changes) << "nothing is switched, and by nobody";
  if (GetParam() == Slave::Transport::tcp) {
    // A serial line has one master at a time: there, off waits for the daemon's end.
    EXPECT_EQ(run({"off", config}), 1) << "it switches, and the daemon of the other may dose on";
    EXPECT_TRUE(contains(said_, "one runs, but not with")) << said_;
    EXPECT_TRUE(contains(said_, "off, confirmed\n", 2)) << said_;
  }
  bench_.kill();
  // Its names are given back with the process, however it ended.
  EXPECT_EQ(run({"off", bench_.config()}), 0);
  bench_.start();
  ASSERT_TRUE(bench_.let_pass(10min)) << bench_.log();
  EXPECT_EQ(bench_.stop(), 0);
}

TEST_F(Lives, a_witness_that_cannot_be_written_is_told_and_holds_nothing) {
  bench_.prepare();
  write_file(bench_.state_dir() + "-witness", "no directory");
  expect_dosing();
  EXPECT_TRUE(contains(bench_.log(), "event=witness-not-writable")) << bench_.log();
  fs::remove(bench_.state_dir() + "-witness");
  expect_dosing();
  EXPECT_TRUE(fs::exists(bench_.state_dir() + "-witness/witness-reef"));
}

TEST_P(LivesOnEachWire, a_latch_outlives_its_ledger) {
  bench_.prepare();
  second_ceiling();
  for (const char* file : {"ledger.db", "ledger.db-wal", "ledger.db-shm"}) {
    remove(file);
  }
  expect_full("was missing and was begun anew");
  EXPECT_EQ(bench_.ledger_number(kLatched), 1);
  EXPECT_TRUE(contains(bench_.log(), "event=held-ph-second-ceiling", 2)) << bench_.log();
  EXPECT_FALSE(contains(bench_.log(), "event=held-record")) << "one copy was sound";
}

TEST_F(Lives, a_latch_outlives_the_guards_record) {
  bench_.prepare();
  second_ceiling();
  remove("guard-reef");
  expect_full("guard's record is missing or damaged");
  EXPECT_EQ(bench_.ledger_number(kLatched), 1);
  EXPECT_EQ(run({"release", bench_.config(), "ph-second-ceiling"}), 0) << said_;
  expect_dosing();
  EXPECT_EQ(bench_.ledger_number(kLatched), 0) << "it does not come back from the other copy";
}

TEST_F(Lives, with_both_records_lost_that_waits_for_a_person) {
  bench_.prepare();
  second_ceiling();
  for (const char* file : {"ledger.db", "ledger.db-wal", "ledger.db-shm", "guard-reef"}) {
    remove(file);
  }
  expect_full("must release it: record");
  EXPECT_TRUE(contains(bench_.log(), "event=held-record")) << bench_.log();
  EXPECT_EQ(run({"release", bench_.config(), "record"}), 0) << said_;
  bench_.start();
  EXPECT_TRUE(bench_.wait_for([this] {
    return bench_.ledger_number("SELECT count(*) FROM latches WHERE code = 'record'") == 0;
  })) << bench_.log();
  EXPECT_EQ(bench_.stop(), 0);
  EXPECT_EQ(bench_.ledger_number(kLatched), 1) << "this one the witness remembers";
}

TEST_F(Lives, one_flipped_bit_in_the_station_of_a_pulse_holds_as_it_says) {
  bench_.prepare();
  dose_and_stop();
  std::string ledger = read_file(bench_.state_dir() + "/ledger.db");
  // A row of a pulse or a stir begins with the station and names the machine's boot soon after.
  std::size_t boot = ledger.find("boot-");
  std::size_t name = ledger.rfind("reef", boot);
  while (boot != std::string::npos && boot - name > 80) {
    boot = ledger.find("boot-", boot + 1);
    name = ledger.rfind("reef", boot);
  }
  ASSERT_NE(boot, std::string::npos);
  ledger[name] = 's';
  write_file(bench_.state_dir() + "/ledger.db", ledger);
  expect_full("count as full");
  expect_full("count as full");
}

TEST_F(Lives, a_directory_of_the_first_release_starts_without_a_hold_of_its_own) {
  fs::create_directories(bench_.state_dir());
  for (const char* file : {"ledger.db", "guard-reef"}) {
    fs::copy_file(data_dir() + "/state-of-schema-5/" + file, bench_.state_dir() + "/" + file);
  }
  // In the morning: its usual course falls at midnight, and before that pH seems to climb.
  const WallTime now = bench_.clock().now().wall;
  bench_.clock().step_wall(std::chrono::floor<std::chrono::days>(now) + 6h - now);
  bench_.start();
  ASSERT_TRUE(bench_.let_pass(1h)) << bench_.log();
  EXPECT_FALSE(contains(bench_.log(), "count as full")) << bench_.log();
  EXPECT_FALSE(contains(bench_.log(), "event=ledger")) << bench_.log();
  EXPECT_TRUE(contains(bench_.log(), "event=held-ph-second-ceiling")) << bench_.log();
  bench_.run_freely();
  EXPECT_EQ(run({"release", bench_.config(), "ph-second-ceiling"}), 0) << said_;
  // It asked for 400 mL a day from afar, and paused for another half an hour.
  ASSERT_TRUE(bench_.wait_for([&] { return bench_.delivered_ml() > 0; })) << bench_.log();
  EXPECT_EQ(bench_.stop(), 0);
}

}  // namespace
}  // namespace limegate::test
