#include <csignal>
#include <filesystem>
#include <functional>

#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include "app/bench.h"
#include "support/places.h"
#include "support/wait_until.h"

namespace limegate::test {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

Ran limegate(std::vector<std::string> arguments) {
  arguments.insert(arguments.begin(), limegate_path());
  return run_program(arguments);
}

std::string replaced(std::string text, const std::string& from, const std::string& to) {
  const auto at = text.find(from);
  return at == std::string::npos ? text : text.replace(at, from.size(), to);
}

TEST(Command, help_teaches_and_every_subcommand_has_its_own) {
  const Ran help = limegate({"--help"});
  EXPECT_EQ(help.code, 0);
  EXPECT_TRUE(contains(help.output, "Exit codes")) << help.output;
  EXPECT_TRUE(contains(help.output, "caustic")) << help.output;
  for (const char* command : {"run", "check", "prepare", "off"}) {
    const Ran own = limegate({command, "--help"});
    EXPECT_EQ(own.code, 0) << command;
    EXPECT_TRUE(contains(own.output, "CONFIG")) << own.output;
  }
}

TEST(Command, help_of_a_command_is_of_that_command_alone) {
  for (const char* command : {"status", "pause", "off", "rehearse", "water", "help"}) {
    const Ran own = limegate({command, "--help"});
    EXPECT_EQ(own.code, 0) << command;
    EXPECT_TRUE(contains(own.output, command)) << own.output;
    EXPECT_FALSE(contains(own.output, "A first evening")) << own.output;
    EXPECT_FALSE(contains(own.output, "Exit codes")) << own.output;
  }
}

TEST(Command, help_of_a_rehearsal_tells_how_long_and_how_much_a_fault_is) {
  const Ran help = limegate({"rehearse", "--help"});
  EXPECT_TRUE(contains(help.output, "the pH probe shows this much more [:6h=0.3]")) << help.output;
  EXPECT_TRUE(contains(help.output, "the pH probe does not answer [:2h]")) << help.output;
  EXPECT_TRUE(contains(help.output, "worth so many dKH [=0.5]")) << help.output;
}

TEST(Command, says_which_version_it_is) {
  const Ran version = limegate({"--version"});
  EXPECT_EQ(version.code, 0);
  EXPECT_EQ(version.output.rfind("limegate 0.", 0), 0U) << version.output;
  EXPECT_EQ(version.output.find('\n'), version.output.size() - 1) << version.output;
}

TEST(Command, a_typo_is_told_with_the_nearest_command) {
  for (const auto& [typed, meant] :
       {std::pair{"staus", "status"}, std::pair{"rehearsal", "rehearse"},
        std::pair{"acknowlege", "acknowledge"}}) {
    const Ran ran = limegate({typed, "reef.toml"});
    EXPECT_EQ(ran.code, 2) << typed;
    EXPECT_TRUE(contains(ran.output, std::string{"There is no command '"} + typed +
                                         "'; did you mean '" + meant + "'?"))
        << ran.output;
  }
  const Ran far = limegate({"photosynthesis"});
  EXPECT_EQ(far.code, 2);
  EXPECT_TRUE(contains(far.output, "There is no command 'photosynthesis'. limegate --help"))
      << far.output;
}

TEST(Command, a_pause_of_more_than_a_day_is_told_the_most) {
  const Ran ran = limegate({"pause", "/nowhere/reef.toml", "--for", "25h"});
  EXPECT_EQ(ran.code, 2);
  EXPECT_TRUE(contains(ran.output, "--for 25h: 24 h is the most")) << ran.output;
  const Ran longest = limegate({"pause", "/nowhere/reef.toml", "--for", "24h"});
  EXPECT_TRUE(contains(longest.output, "/nowhere/reef.toml: can't be read")) << longest.output;
}

TEST(Command, wrong_usage_exits_with_2_and_says_what_is_wrong) {
  EXPECT_EQ(limegate({}).code, 2);
  EXPECT_EQ(limegate({"dose"}).code, 2);
  EXPECT_EQ(limegate({"check"}).code, 2);
  const Ran unreadable = limegate({"check", "/nowhere/reef.toml"});
  EXPECT_EQ(unreadable.code, 2);
  EXPECT_TRUE(contains(unreadable.output, "/nowhere/reef.toml: can't be read"))
      << unreadable.output;
}

// Found by an attack: a reason of two lines was two lines in the log.
TEST(Command, an_argument_that_shows_as_something_else_is_refused) {
  for (const char* text : {"done\nreef: all is well", "\x1b[2J", "\u202efeer"}) {
    const Ran ran =
        limegate({"shelve", "/nowhere/reef.toml", "ledger", "--for", "2h", "--because", text});
    EXPECT_EQ(ran.code, 2) << ran.output;
    EXPECT_TRUE(contains(ran.output, "Argument 7 holds a control character")) << ran.output;
  }
}

TEST(Command, every_example_is_valid_and_explained) {
  int examples = 0;
  for (const auto& file : std::filesystem::directory_iterator(source_dir() + "/config/examples")) {
    const Ran check = limegate({"check", file.path().string()});
    EXPECT_TRUE(
        contains(check.output, "by 0.088 within 2 h, 0.048 beyond 0.12 an hour, or 0.132 above"))
        << check.output;
    EXPECT_EQ(check.code, 0) << file.path() << "\n" << check.output;
    EXPECT_TRUE(contains(check.output, "clear windows")) << check.output;
    const Ran json = limegate({"check", file.path().string(), "--json"});
    EXPECT_TRUE(nlohmann::json::parse(json.output).at("valid").get<bool>());
    ++examples;
  }
  EXPECT_GE(examples, 8);
}

TEST(Command, check_names_file_line_and_key_for_people_and_for_scripts) {
  const TempDir folder;
  const std::string file = folder.path() + "/reef.toml";
  write_file(file, "[daemon]\nstate_dir = \"state\"\npoll = 1\n");
  const Ran people = limegate({"check", file});
  EXPECT_EQ(people.code, 2);
  EXPECT_TRUE(contains(people.output, file + ":3: daemon.poll: ")) << people.output;
  EXPECT_TRUE(contains(people.output, "did you mean 'poll_s'")) << people.output;
  const Ran scripts = limegate({"check", file, "--json"});
  EXPECT_EQ(scripts.code, 2);
  const auto json = nlohmann::json::parse(scripts.output);
  EXPECT_FALSE(json.at("valid").get<bool>());
  EXPECT_EQ(json.at("problems").at(1).at("line"), 3) << scripts.output;
}

TEST(Command, prepare_creates_once_and_changes_nothing_after) {
  Bench bench{{}};
  const Ran first = limegate({"prepare", bench.config(), "--json"});
  EXPECT_EQ(first.code, 0);
  EXPECT_EQ(nlohmann::json::parse(first.output).at("added").at(0), "reef");
  const Ran second = limegate({"prepare", bench.config()});
  EXPECT_EQ(second.code, 0);
  EXPECT_TRUE(contains(second.output, "nothing was changed")) << second.output;
}

TEST(Command, check_and_prepare_ask_back_until_the_file_answers) {
  const TempDir folder;
  const std::string file = folder.path() + "/reef.toml";
  std::string text = replaced(read_file(source_dir() + "/config/examples/tcp-timed-board.toml"),
                              "settle_min = 60", "settle_min = 30");
  text = replaced(text, "/var/lib/limegate\"", folder.path() + "/state\"");
  write_file(file, text);
  const Ran asked = limegate({"check", file});
  EXPECT_EQ(asked.code, 2);
  EXPECT_TRUE(contains(asked.output, "Question settle-time, station.reef.limits.settle_min: "))
      << asked.output;
  EXPECT_TRUE(contains(asked.output, "confirmed = [\"settle-time\"]")) << asked.output;
  const auto json = nlohmann::json::parse(limegate({"check", file, "--json"}).output);
  EXPECT_EQ(json.at("questions").at(0).at("id"), "settle-time");
  EXPECT_EQ(limegate({"prepare", file}).code, 2);
  EXPECT_FALSE(std::filesystem::exists(folder.path() + "/state"))
      << "a directory that is there and empty looks like one that was lost";
  write_file(file,
             replaced(text, "water_volume_l", "confirmed = [\"settle-time\"]\nwater_volume_l"));
  EXPECT_EQ(limegate({"check", file}).code, 0);
  EXPECT_EQ(limegate({"prepare", file}).code, 0);
}

TEST(Command, a_config_that_is_refused_does_not_start_and_switches_nothing) {
  Bench bench{{}};
  write_file(bench.config(),
             replaced(read_file(bench.config()), "settle_min = 20", "settle_min = 2"));
  const Ran ran = limegate({"run", bench.config()});
  EXPECT_EQ(ran.code, 2);
  EXPECT_TRUE(contains(ran.output, "settle_min: 2 is outside 20 to 600")) << ran.output;
  EXPECT_EQ(bench.slave().requests(), 0);
}

class OffCommand : public testing::Test {
 protected:
  /// A daemon that died while pump and stirrer were on: the board's timers are far from their end.
  void leave_everything_on() {
    bench_.prepare();
    bench_.start();
    ASSERT_TRUE(bench_.let_pulse_begin()) << bench_.log();
    bench_.kill();
    ASSERT_TRUE(bench_.pump_on());
  }
  Bench bench_{{}};
};

TEST_F(OffCommand, switches_off_and_verifies) {
  leave_everything_on();
  const Ran off = limegate({"off", bench_.config(), "--json"});
  EXPECT_EQ(off.code, 0) << off.output;
  EXPECT_FALSE(bench_.pump_on());
  for (const auto& outlet : nlohmann::json::parse(off.output)) {
    EXPECT_TRUE(outlet.at("confirmed_off").get<bool>()) << off.output;
  }
}

TEST_F(OffCommand, is_of_every_station_whichever_is_named) {
  leave_everything_on();
  const Ran off = limegate({"off", bench_.config(), "--station", "nowhere"});
  EXPECT_EQ(off.code, 0) << off.output;
  EXPECT_TRUE(contains(off.output, "Off is of every station")) << off.output;
  EXPECT_FALSE(bench_.pump_on());
}

TEST(Check, warns_of_a_rate_that_was_measured_on_a_day_to_come) {
  const TempDir folder;
  const std::string file = folder.path() + "/reef.toml";
  const auto check_with = [&](const std::string& day) {
    write_file(file, replaced(read_file(source_dir() + "/config/examples/tcp-timed-board.toml"),
                              "rate_measured = 2026-11-20", "rate_measured = " + day));
    return run_program({limegate_path(), "check", file});
  };
  EXPECT_FALSE(contains(check_with("2026-11-20").output, "day to come"));
  const Ran ran = check_with("2099-12-31");
  EXPECT_EQ(ran.code, 0);
  EXPECT_TRUE(contains(ran.output, "station.reef.pump.rate_measured: 2099-12-31 is a day to come"))
      << ran.output;
}

TEST_F(OffCommand, works_with_a_broken_config_from_the_last_valid_list) {
  leave_everything_on();
  write_file(bench_.config(),
             replaced(read_file(bench_.config()), "water_volume_l = 400", "water_volume_l = -1"));
  const Ran off = limegate({"off", bench_.config()});
  EXPECT_EQ(off.code, 0) << off.output;
  EXPECT_TRUE(contains(off.output, "last valid config")) << off.output;
  EXPECT_FALSE(bench_.pump_on());
}

TEST_F(OffCommand, works_with_a_file_that_is_no_toml_any_more) {
  leave_everything_on();
  write_file(bench_.config(), "]]] nothing of this is TOML\n" + read_file(bench_.config()));
  const Ran off = limegate({"off", bench_.config()});
  EXPECT_EQ(off.code, 0) << off.output;
  EXPECT_TRUE(contains(off.output, "reef.toml:1: this is not valid TOML")) << off.output;
  EXPECT_FALSE(bench_.pump_on());
  EXPECT_TRUE(std::filesystem::exists(bench_.state_dir() + "/off-reef"))
      << "where the daemon looks for it, though the copy names its directory from elsewhere";
}

TEST_F(OffCommand, works_with_nothing_but_the_state_directory) {
  leave_everything_on();
  write_file(bench_.config(), "");
  const Ran off = limegate({"off", "--state-dir", bench_.state_dir()});
  EXPECT_EQ(off.code, 0) << off.output;
  EXPECT_FALSE(bench_.pump_on());
}

TEST_F(OffCommand, without_any_valid_copy_says_where_it_looked_and_what_to_do) {
  const Ran off = limegate({"off", "--state-dir", bench_.state_dir()});
  EXPECT_EQ(off.code, 2);
  EXPECT_TRUE(contains(off.output, bench_.state_dir() + "/last-valid.toml: can't be read"))
      << off.output;
  EXPECT_TRUE(contains(off.output, "Nothing was switched. Name the file")) << off.output;
}

TEST_F(OffCommand, says_which_outlet_could_not_be_confirmed) {
  leave_everything_on();
  bench_.slave().close_port();
  const Ran off = limegate({"off", bench_.config()});
  EXPECT_EQ(off.code, 1);
  EXPECT_TRUE(contains(off.output, "NOT CONFIRMED")) << off.output;
}

TEST(Command, the_simulated_station_lives_within_a_minute_and_stops_cleanly) {
  const TempDir folder;
  const std::string file = folder.path() + "/simulated.toml";
  std::filesystem::copy_file(source_dir() + "/config/examples/simulated.toml", file);
  // Faster than the demo, so that the test is short: the demo's 120 shows a pulse after 45 s.
  write_file(file, replaced(read_file(file), "acceleration = 120", "acceleration = 5000"));
  ASSERT_EQ(limegate({"prepare", file}).code, 0);
  Program daemon{{limegate_path(), "run", file, "--view"}, folder.path() + "/screen"};
  const auto dosed = [&] {
    const std::string screen = daemon.output();
    const auto last = screen.rfind("counted: ");
    return last != std::string::npos && std::stod(screen.substr(last + 9)) > 0;
  };
  EXPECT_TRUE(wait_until(dosed)) << daemon.output();
  EXPECT_FALSE(contains(daemon.output(), "implausible")) << daemon.output();
  daemon.signal(SIGINT);
  EXPECT_EQ(daemon.wait(60s), 0);
  EXPECT_TRUE(contains(daemon.output(), "stopped outlets=off")) << daemon.output();
}

// Without a file there are three rehearsed days to look at, once: what comes after is the daemon's.
TEST(Command, the_built_in_station_begins_with_three_rehearsed_days_in_its_journal) {
  const TempDir folder;
  const auto state = [&] {
    for (const auto& entry : std::filesystem::directory_iterator(folder.path())) {
      if (entry.is_directory()) {
        return entry.path().string();
      }
    }
    return std::string{};
  };
  const auto run = [&](const std::string& log) {
    Program daemon{{"/usr/bin/env", "TMPDIR=" + folder.path(), limegate_path(), "run"},
                   folder.path() + log};
    EXPECT_TRUE(wait_until([&] {
      return contains(daemon.output(), "event=cleared-not-yet-proven");
    })) << daemon.output();
    daemon.signal(SIGTERM);
    EXPECT_EQ(daemon.wait(60s), 0) << daemon.output();
    EXPECT_FALSE(contains(daemon.output(), "alert")) << daemon.output();
  };
  const auto number = [&](const std::string& file, const std::string& sql) {
    const Ran ran = run_program({"/usr/bin/sqlite3", state() + "/" + file, sql});
    EXPECT_EQ(ran.code, 0) << ran.output;
    return std::stoi(ran.output);
  };
  run("/first");
  const char* const past = "SELECT count(*) FROM pulses WHERE boot LIKE 'rehearsed-%'";
  EXPECT_NEAR(number("ledger.db", past), 72, 1) << "24 a day";
  EXPECT_GE(number("readings.db", "SELECT max(at_s) - min(at_s) FROM readings"), 72 * 3600 - 120);
  EXPECT_GT(number("readings.db", "SELECT count(*) FROM events WHERE code = 'pulse-given'"), 60);
  run("/second");
  EXPECT_NEAR(number("ledger.db", past), 72, 1) << "it is not rehearsed again";
}

// A slave that this project did not write, in front of the real clock: readings come, every outlet
// is confirmed to be off, and `off` works beside it.
TEST(Foreign, a_pymodbus_slave_is_read_and_switched_off) {
  const TempDir folder;
  const std::string script = source_dir() + "/tests/drivers/modbus/foreign_slave.py";
  ASSERT_TRUE(std::filesystem::exists(script));
  const std::string port_file = folder.path() + "/port";
  Program slave{{"/usr/bin/python3", script, "tcp", port_file}, folder.path() + "/slave"};
  ASSERT_TRUE(wait_until([&] { return std::filesystem::exists(port_file); })) << slave.output();
  const std::string file = folder.path() + "/reef.toml";
  write_file(file, replaced(R"([daemon]
state_dir = "state"
[[bus]]
name = "panel"
type = "modbus-tcp"
host = "127.0.0.1"
tcp_port = PORT
[[station]]
name = "reef"
water_volume_l = 400
evaporation_ml_per_day = 4000
reactor_bore_mm = 100
ph = { bus = "panel", unit = 1, address = 0, scale = 0.01 }
# This slave shows -250 there; with this scale that is 25.0 °C.
temperature = { bus = "panel", unit = 1, table = "input_register", address = 5, encoding = "int16", scale = -0.1 }
pump = { bus = "panel", unit = 1, address = 0, allow_untimed = true, rate_ml_per_min = 20, rate_measured = 2026-11-20 }
stirrer = { bus = "panel", unit = 1, address = 1, allow_untimed = true }
plan = { day_volume_ml = 800 }
)",
                            "PORT", read_file(port_file)));
  ASSERT_EQ(limegate({"prepare", file}).code, 0);
  Program daemon{{limegate_path(), "run", file}, folder.path() + "/log"};
  EXPECT_TRUE(wait_until([&] {
    const std::string log = daemon.output();
    return contains(log, "event=cleared-ph-missing") &&
           contains(log, "event=cleared-temperature-missing") &&
           contains(log, "event=cleared-pump-unconfirmed") &&
           contains(log, "event=cleared-stirrer-unconfirmed");
  })) << daemon.output();
  EXPECT_TRUE(contains(daemon.output(), "no timer of its own")) << "warned about at start";
  const Ran off = limegate({"off", file});
  EXPECT_EQ(off.code, 0) << off.output;
  EXPECT_TRUE(contains(off.output, "off, confirmed")) << off.output;
  daemon.signal(SIGTERM);
  EXPECT_EQ(daemon.wait(60s), 0) << daemon.output();
}

}  // namespace
}  // namespace limegate::test
