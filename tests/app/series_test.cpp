// The course of a rehearsal as a table, for a spreadsheet or a plot of one's own.

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <map>
#include <sstream>
#include <string>
#include <tuple>
#include <vector>

#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include "support/places.h"
#include "support/program.h"

namespace limegate::test {
namespace {

using Row = std::map<std::string, std::string>;

std::vector<std::string> cells(const std::string& line) {
  std::vector<std::string> found;
  std::stringstream in{line.substr(0, line.find('\r'))};
  for (std::string cell; std::getline(in, cell, ',');) {
    found.push_back(cell);
  }
  found.resize(18);  // an empty last one ends without a comma
  return found;
}

std::vector<Row> table(const std::string& file) {
  std::ifstream in{file};
  std::string line;
  std::getline(in, line);
  const std::vector<std::string> names = cells(line);
  std::vector<Row> rows;
  while (std::getline(in, line)) {
    const std::vector<std::string> values = cells(line);
    Row row;
    for (std::size_t i = 0; i < names.size(); ++i) {
      row[names[i]] = values[i];
    }
    rows.push_back(row);
  }
  return rows;
}

class RehearsedSeries : public testing::Test {
 protected:
  Ran rehearse(std::vector<std::string> words) {
    words.insert(words.begin(), {limegate_path(), "rehearse"});
    return run_program(words);
  }
  static std::string example(const std::string& name) {
    return source_dir() + "/config/examples/" + name + ".toml";
  }
  TempDir folder_;
  std::string file_ = folder_.path() + "/series.csv";
};

double sum(const std::vector<Row>& rows, const std::string& column) {
  double all = 0;
  for (const Row& row : rows) {
    all += std::stod(row.at(column));
  }
  return all;
}

TEST_F(RehearsedSeries, has_a_row_a_minute_that_adds_up_to_what_the_rehearsal_says) {
  const Ran ran = rehearse({example("two-stations"), "--days", "2", "--json", "--series", file_});
  ASSERT_EQ(ran.code, 0) << ran.output;
  const auto said = nlohmann::json::parse(ran.output);
  std::vector<Row> of_reef, of_frags;
  for (const Row& row : table(file_)) {
    (row.at("station") == "reef" ? of_reef : of_frags).push_back(row);
  }
  ASSERT_EQ(of_reef.size(), 2880U);
  ASSERT_EQ(of_frags.size(), 2880U);
  EXPECT_EQ(of_reef.front().at("time"), "2026-01-01T00:01:00Z");
  EXPECT_NEAR(sum(of_reef, "limewater_ml"), said[0].at("delivered_ml").get<double>(), 1.0);
  EXPECT_NEAR(std::stod(of_reef.back().at("alkalinity_dkh")),
              said[0].at("alkalinity_end_dkh").get<double>(), 0.01);
  for (const Row& row : of_reef) {
    // Beside what the probe shows, within ten of its standard deviations and its last digit.
    EXPECT_NEAR(std::stod(row.at("ph_true")), std::stod(row.at("ph_shown")), 0.05);
    EXPECT_EQ(row.at("second_ph_shown"), "");
  }
}

TEST_F(RehearsedSeries, shows_nothing_where_nothing_was_known) {
  const Ran ran = rehearse({example("tcp-timed-board"), "--days", "1", "--series", file_, "--fault",
                            "ph-silent@1h:30min", "--fault", "bus-silent@12h:10min"});
  ASSERT_EQ(ran.code, 0) << ran.output;
  std::size_t without_ph = 0, without_temperature = 0, held = 0;
  for (const Row& row : table(file_)) {
    without_ph += row.at("ph_shown").empty() ? 1U : 0U;
    without_temperature += row.at("temperature_shown_c").empty() ? 1U : 0U;
    held += row.at("holds").find("ph-stale") != std::string::npos ? 1U : 0U;
    EXPECT_FALSE(row.at("ph_true").empty());
  }
  EXPECT_EQ(without_ph, 40U);
  EXPECT_EQ(without_temperature, 10U);
  EXPECT_GE(held, 38U);
}

// Milk leaves a trace: what makes the water cloudy stands in the series and in the result.
TEST_F(RehearsedSeries, shows_how_cloudy_the_water_turned) {
  const Ran ran = rehearse({example("tcp-timed-board"), "--days", "1", "--json", "--series", file_,
                            "--fault", "siphon@2h:12h=40"});
  ASSERT_FALSE(ran.output.empty());
  double highest = 0;
  for (const Row& row : table(file_)) {
    highest = std::max(highest, std::stod(row.at("cloud_mg_per_l")));
  }
  const auto said = nlohmann::json::parse(ran.output);
  EXPECT_NEAR(said[0].at("cloud_high_mg_per_l").get<double>(), highest, 0.001);
  EXPECT_GT(highest, 1.0);
}

TEST_F(RehearsedSeries, goes_only_where_no_other_file_is_harmed) {
  const std::string config = folder_.path() + "/reef.toml";
  write_file(config, read_file(example("simulated")));
  const Ran over = rehearse({config, "--series", config});
  EXPECT_EQ(over.code, 2);
  EXPECT_TRUE(contains(over.output, ".csv")) << over.output;
  const Ran nowhere = rehearse({config, "--series", folder_.path() + "/none/series.csv"});
  EXPECT_EQ(nowhere.code, 2);
  EXPECT_TRUE(contains(nowhere.output, "none/series.csv: it can't be written")) << nowhere.output;
  for (const auto& [name, to, why] :
       {std::tuple{"/device.csv", std::string{"/dev/full"}, "it is no ordinary file"},
        std::tuple{"/link.csv", config, "it is the config itself"}}) {
    std::filesystem::create_symlink(to, folder_.path() + name);
    const Ran linked = rehearse({config, "--days", "1", "--series", folder_.path() + name});
    EXPECT_EQ(linked.code, 2);
    EXPECT_TRUE(contains(linked.output, why)) << linked.output;
  }
  EXPECT_EQ(read_file(config), read_file(example("simulated")));
  EXPECT_EQ(rehearse({config, "--seeds", "2", "--series", file_}).code, 2);
}

}  // namespace
}  // namespace limegate::test
