// Commissioning by the built command line, beside the built daemon: a person walks all steps, and
// command and daemon are killed on the way. The station is a scenario of our own.

#include <chrono>
#include <csignal>
#include <memory>
#include <string>
#include <vector>

#include <fcntl.h>
#include <fmt/format.h>
#include <gtest/gtest.h>
#include <nlohmann/json.hpp>
#include <sys/stat.h>
#include <unistd.h>

#include "app/running.h"
#include "support/places.h"
#include "support/program.h"

namespace limegate::test {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using nlohmann::json;

/// A clear time that is long enough to work in.
Bench::Plan seldom_stirred() {
  Bench::Plan plan;
  plan.stir_every_min = 240;
  return plan;
}

class Commissioned : public Running {
 public:
  Commissioned() : Running(seldom_stirred()) {}

  json steps() {
    const Ran ran = control({"commission", "--json"});
    EXPECT_EQ(ran.code, 0) << ran.output;
    return json::parse(ran.output, nullptr, false);
  }
  std::string next() { return steps().value("next", json()).dump(); }
  json step(const std::string& name) {
    const json all = steps();
    for (const json& one : all["steps"]) {
      if (one["step"] == name) {
        return one;
      }
    }
    return {};
  }
  [[nodiscard]] std::string folder() const { return state_dir() + "/.."; }
};

/// A person at the terminal of one `limegate commission`.
class Person {
 public:
  explicit Person(Commissioned& bench) : bench_(bench) {
    static int persons = 0;
    pipe_ = fmt::format("{}/person-{}", bench.folder(), ++persons);
    EXPECT_EQ(::mkfifo(pipe_.c_str(), 0600), 0);
    says_ = ::open(pipe_.c_str(), O_RDWR | O_CLOEXEC);
    program_ = std::make_unique<Program>(
        std::vector<std::string>{"/bin/sh", "-c", "exec \"$0\" commission \"$1\" <\"$2\"",
                                 limegate_path(), bench.config(), pipe_},
        pipe_ + "-output");
  }
  ~Person() { leave(); }
  Person(const Person&) = delete;
  Person(Person&&) = delete;
  Person& operator=(const Person&) = delete;
  Person& operator=(Person&&) = delete;

  /// Waits, while time passes, until it is asked so; then says that, if it is anything.
  void asked(const std::string& question, const std::string& answer) {
    ASSERT_TRUE(reads(question)) << "never asked: " << question << "\n" << program_->output();
    if (!answer.empty()) {
      const std::string line = answer + "\n";
      ASSERT_EQ(::write(says_, line.data(), line.size()), static_cast<ssize_t>(line.size()));
    }
  }
  bool reads(const std::string& text) {
    for (int n = 0; n < 6000; ++n) {
      const auto found = program_->output().find(text, read_);
      if (found != std::string::npos) {
        read_ = found + text.size();
        return true;
      }
      if (program_->wait(5ms)) {
        return program_->output().find(text, read_) != std::string::npos;
      }
      bench_.clock().grant_ticks(4);
    }
    return false;
  }
  /// The input ends.
  void leave() {
    if (says_ >= 0) {
      ::close(says_);
      says_ = -1;
    }
  }
  void kill() {
    program_->signal(SIGKILL);
    EXPECT_EQ(program_->wait(10s), 128 + SIGKILL);
  }
  int ended() {
    for (int n = 0; n < 4000; ++n) {
      if (const auto code = program_->wait(5ms)) {
        return *code;
      }
      bench_.clock().grant_ticks(1);
    }
    return -1;
  }
  [[nodiscard]] std::string output() const { return program_->output(); }

 private:
  Commissioned& bench_;
  std::string pipe_;
  int says_ = -1;
  std::size_t read_ = 0;
  std::unique_ptr<Program> program_;
};

constexpr const char* kSo = "Yes: it is so.";

void take_up(Person& person) {
  person.asked("Nothing may run by itself", "yes");
  person.asked(kSo, "yes");
}

/// A run into the cylinder, whose content is what truly flowed and a little more or less.
void run_into_cylinder(Person& person, Commissioned& bench, double read_as) {
  const double before = bench.delivered_ml();
  person.asked("The pump will run for", "yes");
  ASSERT_TRUE(person.reads("What does the cylinder show?"));
  const double given = bench.delivered_ml() - before;
  EXPECT_NEAR(given, 50.0, 1.0);
  person.asked("", fmt::format("{:.1f}mL", given * read_as));
}

void settle_and_prime(Commissioned& bench) {
  {
    Person person{bench};
    person.asked("Pump and stirrer are switched off.", "yes");
    person.asked("Yes: stir once, now", "yes");
    person.asked("Not clear yet", "");
    person.kill();
  }
  EXPECT_EQ(bench.next(), "\"settle\"") << "it was not seen to be clear";
  Person person{bench};
  person.asked("Yes: stir once, now", "stirred");
  person.asked("the limewater is clear", "");
  EXPECT_EQ(bench.delivered_ml(), 0.0);
  // Killed in the middle of the run: the board ends it, and it counts.
  person.asked("How much fills the line?", "20mL");
  person.asked("The pump will run for", "yes");
  ASSERT_TRUE(bench.wait_for([&] { return bench.delivered_ml() > 0.0; }));
  bench.kill();
  EXPECT_EQ(person.ended(), 1) << person.output();
  bench.start();
  ASSERT_TRUE(bench.let_pass(10min)) << bench.log();
  EXPECT_FALSE(bench.pump_on());
  EXPECT_GT(bench.delivered_ml(), 0.0);
  EXPECT_LE(bench.delivered_ml(), 20.5);
  EXPECT_LE(bench.delivered_ml(), bench.counted_ml() + 0.01);
  EXPECT_EQ(bench.next(), "\"prime\"");
  Person again{bench};
  again.asked("How much fills the line?", "20mL");
  again.asked("The pump will run for", "yes");
  again.asked("runs without air", "yes");
  again.asked("Measure the pump", "");
  again.kill();
}

void measure(Commissioned& bench) {
  Person person{bench};
  person.asked("Of which class", "b");
  person.asked("How much in each run?", "50mL");
  run_into_cylinder(person, bench, 1.0);
  run_into_cylinder(person, bench, 1.01);
  ASSERT_TRUE(person.reads("2 of 3 timed runs"));
  person.kill();
  bench.kill();
  bench.start();
  ASSERT_TRUE(bench.let_pass(10min)) << bench.log();
  EXPECT_EQ(bench.next(), "\"rate\"");
  Person again{bench};
  again.asked("2 of 3 timed runs", "");
  again.asked("Of which class", "b");
  again.asked("How much in each run?", "50mL");
  run_into_cylinder(again, bench, 0.99);
  again.asked("The pump's rate is confirmed", "");
  again.asked("How warm are the buffers?", "");
  again.kill();
}

void check_probe(Commissioned& bench) {
  Person person{bench};
  person.asked("How warm are the buffers?", "25C");
  person.asked("the station watches", "ph");
  person.asked("in buffer 7.00.", "");
  bench.show_ph(7.02);
  person.asked("", "yes");
  person.asked("in buffer 10.01.", "");
  bench.show_ph(9.97);
  person.asked("", "yes");
  person.asked("in buffer 7.00 again.", "");
  bench.show_ph(7.02);
  person.asked("", "yes");
  person.asked("It serves.", "");
  bench.show_ph(8.20);
  person.asked("the probe is back in the tank", "yes");
  person.asked("pull the plug of the bus", "");
  person.kill();
}

/// The volume stays 0 and nothing flows, however long nobody is there.
void expect_nothing_by_itself(Commissioned& bench, Duration time) {
  const double before = bench.delivered_ml();
  ASSERT_TRUE(bench.let_pass(time)) << bench.log();
  EXPECT_EQ(bench.delivered_ml(), before);
}

TEST(Commission, leads_from_an_empty_reactor_to_the_half_dose_through_kills) {
  Commissioned bench;
  EXPECT_EQ(bench.next(), "\"place\"");
  {
    Person person{bench};
    take_up(person);
    person.asked("Your file says: 400 L", "");
    person.kill();
  }
  EXPECT_EQ(bench.next(), "\"facts\"");
  EXPECT_EQ(bench.status()["day_volume_ml"], 0.0);
  {
    Person person{bench};
    person.asked(kSo, "yes");
    person.asked("120 to 150 g", "");
    person.kill();
  }
  bench.kill();
  bench.start();
  expect_nothing_by_itself(bench, 5h);
  EXPECT_FALSE(bench.stirrer_on()) << "hands are at the reactor";
  EXPECT_EQ(bench.next(), "\"charge\"");
  {
    Person person{bench};
    person.asked("How many grams", "200g");
    person.asked("is not within 120 to 150 g", "again");
    person.asked("How many grams", "130 g");
    person.asked("Make a slurry", "");
    person.kill();
  }
  {
    Person person{bench};
    person.asked("Make a slurry", "");
    person.asked(kSo, "yes");
    person.asked("switched off", "");
    person.kill();
  }
  settle_and_prime(bench);
  measure(bench);
  check_probe(bench);
  {
    Person person{bench};
    person.asked("Yes: the station said so", "yes");
    person.asked("Alkalinity, such as", "5dKH");
    person.asked("with other means, not with this", "");
    person.asked("Alkalinity, such as", "8.1dKH");
    person.asked("Yes: it is so; or again.", "yes");
    person.asked("Calcium, such as", "");
    person.kill();
  }
  EXPECT_EQ(bench.next(), "\"tests\"");
  bench.kill();
  bench.start();
  expect_nothing_by_itself(bench, 30min);
  {
    Person person{bench};
    person.asked("Calcium, such as", "420mg/L");
    person.asked("Three days without dosing", "");
    person.asked("0 of 3 undosed days", "");
    person.leave();
    EXPECT_EQ(person.ended(), 0) << person.output();
    EXPECT_TRUE(contains(person.output(), "goes on here")) << person.output();
  }
  const double by_hand = bench.delivered_ml();
  expect_nothing_by_itself(bench, 73h);
  EXPECT_EQ(bench.steps()["undosed_days"], 3);
  // The third run of the rate, two of the line, and what a kill cut short.
  EXPECT_NEAR(by_hand, 20.0 + 150.0 + 20.0, 21.0);
  EXPECT_LE(by_hand, bench.counted_ml() + 0.01);
  Person person{bench};
  person.asked("Yes: set it", "yes");
  EXPECT_EQ(person.ended(), 0) << person.output();
  // 0.5 dKH a day of 400 L: a litre, saturated at 25 °C, brings 0.285 (CARE.md, sections 6 and 10:
  // 0.3618 · 320/400 · 1.504/1.529); half of the evaporation would be 2000 mL.
  EXPECT_NEAR(bench.status()["day_volume_ml"].get<double>(), 1756.0, 10.0);
  bench.kill();
  bench.start();
  ASSERT_TRUE(bench.let_pass(10s));
  EXPECT_EQ(bench.next(), "null");
  ASSERT_TRUE(bench.let_pass(8h));
  EXPECT_GT(bench.delivered_ml(), by_hand);
  EXPECT_EQ(bench.stop(), 0);
}

// What stopped by a script's word would be silent by wish, and nobody would be told.
TEST(Commission, without_a_terminal_stops_no_dosing) {
  Running bench;
  ASSERT_TRUE(bench.let_pass(3h));
  ASSERT_GT(bench.delivered_ml(), 0.0);
  const double day = bench.status()["day_volume_ml"];
  for (const char* how : {"--done", "--skip"}) {
    const Ran ran = bench.control({"commission", how, "place"});
    EXPECT_EQ(ran.code, 4) << ran.output;
    EXPECT_TRUE(contains(ran.output, "This station doses")) << ran.output;
  }
  EXPECT_EQ(bench.status()["day_volume_ml"], day);
  EXPECT_EQ(bench.control({"book"}).output, "Nothing is in the book yet: limegate record.\n");
  EXPECT_EQ(bench.stop(), 0);
}

TEST(Commission, without_a_terminal_takes_no_word_against_what_is_known) {
  Commissioned bench;
  struct Case {
    const char* how;
    const char* step;
    int code;
    const char* says;
  };
  for (const Case& one : std::vector<Case>{
           {"--done", "dance", 2, "There is no step 'dance'"},
           {"--done", "facts", 4, "First comes place"},
           {"--skip", "half-dose", 4, "First comes place"},
           {"--done", "place", 0, "step place done"},
           {"--done", "facts", 0, "step facts done"},
           {"--done", "charge", 4, "tells of no powder"},
           {"--skip", "charge", 0, "nobody says when it is used up"},
           {"--done", "water", 0, "step water done"},
           {"--done", "settle", 4, "switched-off"},
           {"--skip", "settle", 0, "many times the dose"},
           {"--skip", "prime", 0, "push air"},
           {"--done", "rate", 4, "No timed run"},
           {"--skip", "rate", 0, "wrong rate"},
           {"--done", "probe", 4, "no calibration"},
           {"--skip", "probe", 0, "off by 0.2"},
           {"--done", "proof", 4, "switched-off"},
           {"--skip", "proof", 0, "bus is cut"},
           {"--done", "tests", 4, "No test of alkalinity"},
           {"--skip", "tests", 0, "wrong balance"},
           {"--done", "reference", 4, "0 of 3 undosed days"},
           {"--skip", "reference", 0, "slow rise"},
       }) {
    const Ran ran = bench.control({"commission", one.how, one.step});
    EXPECT_EQ(ran.code, one.code) << one.step << ": " << ran.output;
    EXPECT_TRUE(contains(ran.output, one.says)) << one.step << ": " << ran.output;
  }
  EXPECT_EQ(bench.status()["day_volume_ml"], 0.0);
  EXPECT_EQ(bench.step("charge")["state"], "skipped");
  EXPECT_TRUE(bench.step("charge")["time"].is_string());
  EXPECT_EQ(bench.step("half-dose")["state"], "next");
  const Ran half = bench.control({"commission", "--done", "half-dose"});
  EXPECT_EQ(half.code, 0) << half.output;
  EXPECT_GT(bench.status()["day_volume_ml"], 1700.0);
  // An entry like all others: listed, and taken back.
  const Ran book = bench.control({"book"});
  EXPECT_TRUE(contains(book.output, "step charge skipped")) << book.output;
  EXPECT_EQ(bench.control({"undo", "3"}).code, 0);
  EXPECT_EQ(bench.next(), "\"charge\"");
  ASSERT_EQ(bench.control({"record", "powder", "130g"}).code, 0);
  EXPECT_EQ(bench.control({"commission", "--done", "charge"}).code, 0);
  EXPECT_EQ(bench.next(), "null");
  EXPECT_GT(bench.status()["day_volume_ml"], 1700.0) << "dosing has begun: it stays as it is";
  EXPECT_EQ(bench.control({"commission", "--json", "--done", "place"}).code, 2);
  EXPECT_EQ(bench.stop(), 0);
  EXPECT_EQ(bench.control({"commission", "--json"}).code, 1);
}

TEST(Commission, asks_again_what_makes_no_sense_and_reads_millivolts) {
  Commissioned bench;
  ASSERT_EQ(bench.control({"commission", "--done", "place"}).code, 0);
  ASSERT_EQ(bench.control({"commission", "--done", "facts"}).code, 0);
  EXPECT_EQ(bench.control({"record", "step", "place"}).code, 4);
  {
    Person person{bench};
    for (const char* nothing : {" ", "nan", "1e999", "\xff\xfe", "130 mL", "0x10", "1,5g"}) {
      person.asked("How many grams", nothing);
      person.asked("Write a number in g", "");
    }
    person.asked("How many grams", "-5");
    person.asked("is not within 120 to 150 g", "yes");
    person.asked("can't be true", "");
    person.asked("How many grams", "skip");
    person.asked("nobody says when it is used up", "perhaps");
    person.asked("Say yes, back, skip or quit.", "back");
    person.asked("How many grams", "quit");
    EXPECT_EQ(person.ended(), 0) << person.output();
  }
  EXPECT_EQ(bench.next(), "\"charge\"");
  // As a kill between the powder's entry and the step's leaves it: it is not put in twice.
  ASSERT_EQ(bench.control({"record", "powder", "130g"}).code, 0);
  {
    Person person{bench};
    person.asked("already tells of 130 g", "yes");
    person.asked("Make a slurry", "");
    person.kill();
  }
  for (const char* step : {"water", "settle", "prime", "rate"}) {
    ASSERT_EQ(bench.control({"commission", "--skip", step}).code, 0) << step;
  }
  Person person{bench};
  person.asked("Pump and stirrer are switched off.", "skip");
  person.asked("How warm are the buffers?", "99C");
  person.asked("How warm are the buffers?", "25C");
  person.asked("read millivolts", "mv");
  // 79 % of 3.01 · 59.16 mV; below 80 % an electrode is worn out (common practice).
  for (const char* worn : {"5.0", "-135.7mV", "5.0"}) {
    person.asked("Millivolts in buffer", worn);
  }
  person.asked("worn out", "");
  person.asked("How warm are the buffers?", "25C");
  person.asked("read millivolts", "mv");
  for (const char* sound : {"5.0", "-167.7", "5.5"}) {
    person.asked("Millivolts in buffer", sound);
  }
  person.asked("sound electrode", "");
  person.asked("back in the tank", "yes");
  person.asked("Step 9 of 12: proof", "");
  person.leave();
  EXPECT_EQ(person.ended(), 0) << person.output();
  const std::string note = bench.step("probe")["note"];
  EXPECT_TRUE(contains(note, "slope 97.0 %, +5.0 mV at pH 7")) << note;
  EXPECT_EQ(bench.delivered_ml(), 0.0);
  EXPECT_EQ(bench.stop(), 0);
}

}  // namespace
}  // namespace limegate::test
