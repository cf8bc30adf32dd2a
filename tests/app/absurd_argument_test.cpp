// Every command with extreme, negative, empty, huge and non-numeric arguments, beside a daemon that
// lives on.

#include <algorithm>
#include <csignal>
#include <filesystem>
#include <memory>
#include <string>
#include <vector>

#include <gtest/gtest.h>

#include "support/places.h"
#include "support/program.h"
#include "support/wait_until.h"

namespace limegate::test {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using Words = std::vector<std::string>;

/// What nobody sane would ask for; with a unit behind it where a measure is asked for.
const Words kNumbers = {"",
                        " ",
                        "0",
                        "-0",
                        "-1",
                        "1e300",
                        "-1e300",
                        "1e999",
                        "1e-300",
                        "nan",
                        "-nan",
                        "inf",
                        "-inf",
                        "0x10",
                        "1,5",
                        "1 5",
                        "--",
                        "ten",
                        "1e",
                        "+",
                        ".",
                        "9223372036854775808",
                        "18446744073709551616",
                        "\xff\xfe",
                        "\xf0\x9f\x92\xa7",
                        "$(reboot)"};

Words measures(const std::string& unit) {
  Words all;
  for (const std::string& number : kNumbers) {
    all.push_back(number);
    all.push_back(number + unit);
  }
  all.push_back(std::string(100'000, '9') + unit);
  all.push_back(std::string(100'000, 'x'));
  all.push_back("1" + unit + unit);
  return all;
}

/// A simulated station of our own that runs as fast as the machine can.
class AbsurdArguments : public testing::Test {
 protected:
  void SetUp() override {
    std::filesystem::copy_file(source_dir() + "/config/examples/simulated.toml", file_);
    ASSERT_EQ(limegate({"prepare", file_}).code, 0);
    daemon_ =
        std::make_unique<Program>(Words{limegate_path(), "run", file_}, folder_.path() + "/log");
    ASSERT_TRUE(wait_until([&] { return limegate({"status", file_}).code == 0; }));
  }
  void TearDown() override {
    EXPECT_EQ(limegate({"status", file_}).code, 0);
    daemon_->signal(SIGTERM);
    EXPECT_EQ(daemon_->wait(60s), 0) << daemon_->output();
  }
  static Ran limegate(Words words) {
    words.insert(words.begin(), limegate_path());
    return run_program(words);
  }
  /// Refused as documented, in words; and a sensible command is still obeyed.
  void refuses(const Words& words, const std::vector<int>& codes) {
    const Ran ran = limegate(words);
    std::string said;
    for (const std::string& word : words) {
      said += word.substr(0, 40) + " ";
    }
    EXPECT_NE(std::find(codes.begin(), codes.end(), ran.code), codes.end())
        << said << "ended with " << ran.code << "\n"
        << ran.output.substr(0, 500);
    EXPECT_FALSE(ran.output.empty()) << said;
    EXPECT_LT(ran.output.size(), 3000U) << said << "says its argument back in full";
  }

  TempDir folder_;
  std::string file_ = folder_.path() + "/simulated.toml";
  std::unique_ptr<Program> daemon_;
};

struct Asked {
  const char* command;
  const char* option;
  const char* unit;
};
class AbsurdMeasure : public AbsurdArguments, public testing::WithParamInterface<Asked> {};
INSTANTIATE_TEST_SUITE_P(, AbsurdMeasure,
                         testing::Values(Asked{"volume", "--per-day", "mL"},
                                         Asked{"volume", "--per-day", "L"},
                                         Asked{"pause", "--for", "h"},
                                         Asked{"run-attended", "--volume", "mL"},
                                         Asked{"confirm-rate", "--collected", "mL"}),
                         [](const auto& row) {
                           std::string name = std::string{row.param.command} + row.param.unit;
                           std::erase(name, '-');
                           return name;
                         });

/// 0 and what is next to nothing are volumes. A pause may be as short, is two hours where nothing
/// is said, and lasts 24 h at most, as its answer says.
bool taken(const Asked& asked, const std::string& measure) {
  Words some{"0", "-0", "1e-300"};
  if (std::string{asked.command} == "pause") {
    some.insert(some.end(), {"1e300", "9223372036854775808", "18446744073709551616"});
    if (measure.empty()) {
      return true;
    }
  }
  return std::any_of(some.begin(), some.end(),
                     [&](const std::string& one) { return one + asked.unit == measure; });
}

TEST_P(AbsurdMeasure, is_refused_or_within_its_bounds) {
  const Asked& asked = GetParam();
  for (const std::string& measure : measures(asked.unit)) {
    refuses({asked.command, file_, std::string{asked.option} + "=" + measure},
            taken(asked, measure) ? std::vector{0, 2, 4} : std::vector{2, 4});
  }
}

TEST_F(AbsurdArguments, of_names_are_refused) {
  Words names = kNumbers;
  names.push_back(std::string(100'000, 'x'));
  names.emplace_back("../../etc/passwd");
  for (const std::string& name : names) {
    refuses({"release", file_, "--", name}, {1, 2, 4});
    refuses({"acknowledge", file_, "--", name.empty() ? "x" : name}, {2, 4});
    for (const char* command : {"pause", "resume", "stir", "relearn"}) {
      refuses({command, file_, "--station=" + (name.empty() ? "x" : name)}, {2, 4});
    }
  }
}

TEST_F(AbsurdArguments, of_files_are_refused) {
  Words files = kNumbers;
  files.push_back(std::string(1'000, 'x'));
  files.push_back(std::string(100'000, 'x'));
  files.emplace_back(folder_.path());
  files.emplace_back("/dev/null");
  write_file(folder_.path() + "/binary", std::string("\0\1\2\xff", 4));
  files.push_back(folder_.path() + "/binary");
  for (const std::string& file : files) {
    for (const char* command : {"check", "prepare", "trust-clock", "resume", "off", "run"}) {
      if (file.empty() && std::string{command} == "run") {
        continue;  // without a file it is the built-in station
      }
      refuses({command, "--", file}, {1, 2});
    }
  }
}

TEST_F(AbsurdArguments, of_a_rehearsal_are_refused) {
  for (const std::string& number : kNumbers) {
    if (number == "0x10") {
      continue;  // CLI11 reads it as 16, and so do we
    }
    refuses({"rehearse", file_, "--days=" + number}, {2});
  }
}

}  // namespace
}  // namespace limegate::test
