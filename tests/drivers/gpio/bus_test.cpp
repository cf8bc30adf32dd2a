// GPIO inputs: real errors of the real library, values from a stand-in for it, and from the
// kernel's own simulated chip where there is one.

#include "gpio/bus.h"

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include <gtest/gtest.h>

#include "drivers/gpio/stand_in.h"
#include "support/test_clocks.h"

namespace limegate::gpio {
namespace {

using ports::BusFault;
using Polarity = LineSettings::Polarity;

/// Polls all lines of a chip and runs what is posted.
class Reader {
 public:
  Reader(const std::string& chip, const std::vector<LineSettings>& lines)
      : count_(lines.size()),
        bus_(std::make_unique<Bus>(chip, lines, clock_, [this](std::function<void()> what) {
          posted_ = std::move(what);
        })) {}

  std::vector<tl::expected<double, BusFault>> read() {
    std::vector<std::size_t> all;
    for (std::size_t i = 0; i < count_; ++i) {
      all.push_back(i);
    }
    std::vector<tl::expected<double, BusFault>> values;
    bus_->poll(all, [&](const ports::Answers& answers) {
      EXPECT_TRUE(answers.last);
      for (const ports::Sample& sample : answers.samples) {
        EXPECT_EQ(sample.probe, values.size());
        EXPECT_EQ(sample.at, clock_.now().mono);
        values.push_back(sample.value);
      }
    });
    EXPECT_TRUE(values.empty()) << "the reply is posted, never given at once";
    posted_();
    return values;
  }

 private:
  std::size_t count_;
  test::ManualClock clock_;
  std::function<void()> posted_;
  std::unique_ptr<Bus> bus_;
};

using Fault = tl::unexpected<BusFault>;

TEST(Gpio, a_chip_that_is_not_there_and_a_device_that_is_none_are_gone) {
  for (const char* path : {"/dev/gpiochip99", "/dev/null", "/nowhere/gpiochip0"}) {
    Reader reader{path, {{0}, {1}}};
    for (int poll = 0; poll < 2; ++poll) {
      for (const auto& value : reader.read()) {
        EXPECT_EQ(value, Fault{BusFault::port_gone}) << path;
      }
    }
  }
}

TEST(Gpio, shows_one_while_a_line_is_active) {
  test::StandInChip chip;
  chip.set(4, true);
  chip.set(5, false);
  Reader reader{test::StandInChip::kPath,
                {{4}, {5}, {4, Polarity::active_low}, {5, Polarity::active_low}}};
  EXPECT_EQ(reader.read(), (std::vector<tl::expected<double, BusFault>>{1.0, 0.0, 0.0, 1.0}));
  chip.set(4, false);
  EXPECT_EQ(reader.read()[0], 0.0);
  EXPECT_EQ(chip.opened(), 1) << "it stays open, and a line is asked for once";
}

TEST(Gpio, a_line_that_is_not_there_or_used_by_others_is_refused_and_tried_again) {
  test::StandInChip chip;
  chip.set(4, true);
  chip.used_by_others(4, true);
  Reader reader{test::StandInChip::kPath, {{4}, {9}}};
  EXPECT_EQ(reader.read(),
            (std::vector<tl::expected<double, BusFault>>{Fault{BusFault::refused_by_device},
                                                         Fault{BusFault::refused_by_device}}));
  chip.used_by_others(4, false);
  EXPECT_EQ(reader.read()[0], 1.0);
}

TEST(Gpio, a_chip_that_is_pulled_out_is_gone_until_it_is_back) {
  test::StandInChip chip;
  chip.set(4, true);
  Reader reader{test::StandInChip::kPath, {{4}}};
  ASSERT_EQ(reader.read()[0], 1.0);
  chip.plug(false);
  EXPECT_EQ(reader.read()[0], Fault{BusFault::port_gone});
  EXPECT_EQ(reader.read()[0], Fault{BusFault::port_gone});
  chip.plug(true);
  EXPECT_EQ(reader.read()[0], 1.0);
}

/// The kernel's gpio-sim with four lines, by configfs (the kernel's admin-guide/gpio/gpio-sim.rst).
class SimulatedChip {
 public:
  SimulatedChip() {
    std::error_code error;
    std::filesystem::create_directories(bank(), error);
    if (error) {
      return;
    }
    write(bank() + "/num_lines", "4");
    write(device() + "/live", "1");
    const std::string chip = read(bank() + "/chip_name");
    const std::string platform = read(device() + "/dev_name");
    if (!chip.empty() && !platform.empty()) {
      path_ = "/dev/" + chip;
      pull_ = "/sys/devices/platform/" + platform + "/" + chip + "/sim_gpio";
    }
  }
  ~SimulatedChip() {
    std::error_code error;
    write(device() + "/live", "0");
    std::filesystem::remove(bank(), error);
    std::filesystem::remove(device(), error);
  }
  SimulatedChip(const SimulatedChip&) = delete;
  SimulatedChip(SimulatedChip&&) = delete;
  SimulatedChip& operator=(const SimulatedChip&) = delete;
  SimulatedChip& operator=(SimulatedChip&&) = delete;

  [[nodiscard]] const std::string& path() const { return path_; }  ///< empty: there is none
  void pull(unsigned line, const char* to) const {
    write(pull_ + std::to_string(line) + "/pull", to);
  }

 private:
  static std::string device() { return "/sys/kernel/config/gpio-sim/limegate-test"; }
  static std::string bank() { return device() + "/bank0"; }
  static void write(const std::string& file, const std::string& text) {
    std::ofstream{file} << text;
  }
  static std::string read(const std::string& file) {
    std::string word;
    std::ifstream{file} >> word;
    return word;
  }
  std::string path_, pull_;
};

TEST(Gpio, reads_the_kernels_simulated_chip) {
  if (!std::filesystem::exists("/sys/kernel/config/gpio-sim")) {
    GTEST_SKIP() << "the kernel has no gpio-sim here (modprobe gpio-sim, with configfs mounted)";
  }
  const SimulatedChip chip;
  ASSERT_FALSE(chip.path().empty());
  Reader reader{chip.path(), {{1}, {1, Polarity::active_low}, {7}}};
  chip.pull(1, "pull-up");
  EXPECT_EQ(reader.read(), (std::vector<tl::expected<double, BusFault>>{
                               1.0, 0.0, Fault{BusFault::refused_by_device}}));
  chip.pull(1, "pull-down");
  EXPECT_EQ(reader.read()[0], 0.0);
}

}  // namespace
}  // namespace limegate::gpio
