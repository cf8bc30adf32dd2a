#pragma once

#include <chrono>
#include <string>
#include <vector>

#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include "app/bench.h"
#include "support/places.h"

namespace limegate::test {

/// A bench that runs, and lets a second or so pass for each command.
class Running : public Bench {
 public:
  static Plan plan() {
    Plan plan;
    plan.day_volume_ml = 1200;
    return plan;
  }
  Running() : Running(plan()) {}
  explicit Running(const Plan& given) : Bench(given) {
    prepare();
    start();
    EXPECT_TRUE(let_pass(std::chrono::seconds{10})) << log();
  }
  /// Runs a command of the program and lets time go on, slowly, until it has ended.
  Ran control(std::vector<std::string> words) {
    words.insert(words.begin(), limegate_path());
    words.insert(words.begin() + 2, config());
    Program program{words, state_dir() + "/../control-" + std::to_string(++commands_)};
    for (int n = 0; n < 4000; ++n) {
      if (const auto code = program.wait(std::chrono::milliseconds{5})) {
        return {*code, program.output()};
      }
      clock().grant_ticks(1);
    }
    ADD_FAILURE() << "no answer to " << words[1] << "\n" << log();
    return {-1, program.output()};
  }
  nlohmann::json status() {
    return nlohmann::json::parse(control({"status", "--json"}).output)["stations"][0];
  }
  [[nodiscard]] std::string socket_path() const { return state_dir() + "/control"; }

 private:
  int commands_ = 0;
};

}  // namespace limegate::test
