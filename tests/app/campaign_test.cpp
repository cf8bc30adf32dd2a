// A campaign in parts: what several machines, or several evenings, ran is added up.

#include <string>
#include <vector>

#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include "support/places.h"
#include "support/program.h"
#include "support/wait_until.h"

namespace limegate::test {
namespace {

class CampaignParts : public testing::Test {
 protected:
  static Ran rehearse(const std::string& file, std::vector<std::string> words) {
    words.insert(words.begin(), {limegate_path(), "rehearse", file});
    return run_program(words);
  }
  std::string part(const char* first, const char* seeds, const char* days = "3") {
    std::string name = folder_.path() + "/" + first + "-" + seeds + "-" + days + ".json";
    write_file(
        name,
        rehearse(file_, {"--days", days, "--seed", first, "--seeds", seeds, "--json"}).output);
    return name;
  }
  /// Must be refused with these words.
  void refuses(const std::vector<std::string>& parts, const std::string& why,
               const std::string& file = {}) {
    std::vector<std::string> words{"--days", "3", "--merge"};
    words.insert(words.end(), parts.begin(), parts.end());
    const Ran ran = rehearse(file.empty() ? file_ : file, words);
    EXPECT_EQ(ran.code, 2) << ran.output;
    EXPECT_TRUE(contains(ran.output, why)) << ran.output;
  }

  TempDir folder_;
  std::string file_ = source_dir() + "/config/examples/two-stations.toml";
};

TEST_F(CampaignParts, come_to_what_one_run_does) {
  const std::string whole = rehearse(file_, {"--days", "3", "--seed", "5", "--seeds", "5"}).output;
  const Ran merged = rehearse(file_, {"--days", "3", "--merge", part("8", "2"), part("5", "3")});
  EXPECT_EQ(merged.code, 0);
  EXPECT_EQ(merged.output, whole);
  // And what was merged is a part of more.
  const std::string both = folder_.path() + "/both.json";
  write_file(
      both,
      rehearse(file_, {"--days", "3", "--json", "--merge", part("8", "2"), part("5", "3")}).output);
  EXPECT_EQ(rehearse(file_, {"--days", "3", "--merge", both}).output, whole);
}

TEST_F(CampaignParts, that_do_not_belong_together_are_refused) {
  const std::string one = part("1", "2");
  refuses({one, part("2", "2")}, "has seeds of station reef that " + one + " has too");
  refuses({one, part("3", "1", "2")}, "courses of 2 days, and not of");
  refuses({one}, "Merge what was run with the same of each",
          source_dir() + "/config/examples/tcp-timed-board.toml");
  refuses({folder_.path() + "/nothing"}, "nothing: can't be read");
  const std::string odd = folder_.path() + "/odd.json";
  for (const char* text : {"", "{", "[1]", "[{}]", "{\"a\": 1}", "null"}) {
    write_file(odd, text);
    refuses({odd}, "odd.json: is no part of a campaign");
  }
  auto other = nlohmann::json::parse(read_file(one));
  other[0]["version"] = "9.9.9";
  write_file(odd, other.dump());
  refuses({odd}, "is of program 9.9.9");
}

TEST(Rehearse, is_of_one_station_where_that_is_asked_for) {
  const std::string file = source_dir() + "/config/examples/two-stations.toml";
  const auto rehearse = [&](std::vector<std::string> more) {
    more.insert(more.begin(), {limegate_path(), "rehearse", file, "--days", "0.1"});
    return run_program(more);
  };
  const Ran both = rehearse({});
  EXPECT_TRUE(contains(both.output, "Station reef: ")) << both.output;
  EXPECT_TRUE(contains(both.output, "Station frags: ")) << both.output;
  for (const std::vector<std::string>& more :
       {std::vector<std::string>{}, {"--seeds", "1"}, {"--fault", "ph-silent@1h"}}) {
    std::vector<std::string> words{"--station", "frags"};
    words.insert(words.end(), more.begin(), more.end());
    const Ran one = rehearse(words);
    EXPECT_EQ(one.code, 0) << one.output;
    EXPECT_TRUE(contains(one.output, "Station frags: ")) << one.output;
    EXPECT_FALSE(contains(one.output, "reef")) << one.output;
  }
  const auto list = nlohmann::json::parse(rehearse({"--station", "frags", "--json"}).output);
  ASSERT_EQ(list.size(), 1U);
  EXPECT_EQ(list[0]["station"], "frags");
  const Ran none = rehearse({"--station", "nowhere"});
  EXPECT_EQ(none.code, 2);
  EXPECT_TRUE(contains(none.output, "--station must name a station of the file: reef, frags"))
      << none.output;
}

// Found by an attack: parts of both were added up, whichever was asked for.
TEST(Rehearse, of_one_station_adds_up_parts_of_that_alone) {
  const TempDir folder;
  const std::string file = source_dir() + "/config/examples/two-stations.toml";
  const std::string part = folder.path() + "/part.json";
  write_file(part, run_program({limegate_path(), "rehearse", file, "--days", "0.1", "--seeds", "1",
                                "--json"})
                       .output);
  const Ran one = run_program(
      {limegate_path(), "rehearse", file, "--days", "0.1", "--merge", part, "--station", "frags"});
  EXPECT_EQ(one.code, 0) << one.output;
  EXPECT_TRUE(contains(one.output, "Station frags: ")) << one.output;
  EXPECT_FALSE(contains(one.output, "Station reef: ")) << one.output;
}

// Found by an attack: an empty line stood below.
TEST(Rehearse, of_a_file_that_is_refused_says_so_in_one_line) {
  const Ran ran = run_program({limegate_path(), "rehearse", "/nowhere/reef.toml"});
  EXPECT_EQ(ran.code, 2);
  EXPECT_EQ(ran.output.find('\n'), ran.output.size() - 1) << ran.output;
}

}  // namespace
}  // namespace limegate::test
