// `limegate report` and `limegate export`, as built, given what can't be done. What they make of a
// record: pages_check and export_check.

#include <algorithm>
#include <filesystem>
#include <string>
#include <vector>

#include <gtest/gtest.h>

#include "support/places.h"
#include "support/program.h"

namespace limegate::test {
namespace {

class RecordCommand : public testing::Test {
 protected:
  RecordCommand() { write_file(config, read_file(example("simulated"))); }
  static std::string example(const std::string& name) {
    return source_dir() + "/config/examples/" + name + ".toml";
  }
  Ran run(const std::string& command, std::vector<std::string> words) {
    words.insert(words.begin(), {limegate_path(), command, config});
    return run_program(words);
  }
  void refused(const std::string& command, const std::vector<std::string>& words,
               const std::string& why, int code = 2) {
    const Ran ran = run(command, words);
    EXPECT_EQ(ran.code, code) << ran.output;
    EXPECT_TRUE(contains(ran.output, why)) << ran.output;
    EXPECT_LE(std::count(ran.output.begin(), ran.output.end(), '\n'), 2) << ran.output;
  }
  void both_refuse(const std::vector<std::string>& words, const std::string& why) {
    std::vector<std::string> to_page = words;
    to_page.insert(to_page.end(), {"--out", folder.path() + "/page.html"});
    refused("report", to_page, why);
    refused("export", words, why);
  }
  TempDir folder;
  std::string config = folder.path() + "/reef.toml";
};

TEST_F(RecordCommand, says_that_no_record_is_there_and_writes_nothing) {
  refused("report", {"--out", folder.path() + "/page.html"}, "There is no record", 1);
  refused("export", {}, "There is no record", 1);
  refused("export", {"--out", folder.path() + "/rows.csv"}, "There is no record", 1);
  for (const auto& entry : std::filesystem::directory_iterator{folder.path()}) {
    EXPECT_EQ(entry.path(), config) << "and nothing is begun";
  }
}

TEST_F(RecordCommand, asks_for_days_that_can_be) {
  for (const char* days : {"0", "-3", "366000", "nan", "1.5", "1e3"}) {
    both_refuse({"--days", days}, "--days");
  }
}

TEST_F(RecordCommand, names_the_stations_that_there_are) {
  both_refuse({"--station", "nobody"}, "--station must name a station of the file: demo-reef.");
  write_file(config, read_file(example("two-stations")));
  both_refuse({}, "--station must name a station of the file: reef, frags.");
}

TEST_F(RecordCommand, asks_for_a_span_that_can_be) {
  const auto span = [&](const char* from, const char* until, const char* why) {
    refused("export", {"--from", from, "--until", until}, why);
  };
  span("2026-11-02T00:00:00Z", "2026-11-01T00:00:00Z", "--until must be later than --from");
  span("2026-11-01T00:00:00Z", "2026-11-01T00:00:00Z", "--until must be later than --from");
  span("1026-11-01T00:00:00Z", "2026-11-01T00:00:00Z", "is no time from 2000 to 2199");
  span("2026-11-01T00:00:00Z", "3026-11-01T00:00:00Z", "is no time from 2000 to 2199");
  span("2026-11-31T00:00:00Z", "2026-12-01T00:00:00Z", "is no time");
  span("yesterday", "2026-12-01T00:00:00Z", "is no time");
  refused("export", {"--from", "2199-01-01T00:00:00Z"}, "--from must be in the past");
  refused("export", {"--from", "2026-11-01T00:00:00Z", "--days", "3"}, "--days");
}

TEST_F(RecordCommand, harms_no_file_that_is_there) {
  const std::string page = folder.path() + "/page.html";
  write_file(page, "precious");
  refused("report", {"--out", page}, "There is no record", 1);
  EXPECT_EQ(read_file(page), "precious") << "nothing whole came in its place";
  refused("report", {}, "--out");
  refused("report", {"--out", config}, "end its name in .html");
  refused("export", {"--out", config}, "end its name in .csv");
  refused("export", {"--senml", "--out", folder.path() + "/rows.csv"}, "end its name in .json");
  std::filesystem::create_directory(folder.path() + "/folder.html");
  refused("report", {"--out", folder.path() + "/folder.html"}, "it is no ordinary file");
  std::filesystem::create_symlink("/dev/full", folder.path() + "/full.csv");
  refused("export", {"--out", folder.path() + "/full.csv"}, "it is no ordinary file");
  std::filesystem::create_symlink(config, folder.path() + "/linked.csv");
  refused("export", {"--out", folder.path() + "/linked.csv"}, "it is the config itself");
  EXPECT_EQ(read_file(config), read_file(example("simulated")));
}

}  // namespace
}  // namespace limegate::test
