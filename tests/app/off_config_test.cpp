// Where `limegate off` finds what to switch off, whatever became of the files. The service's places
// are folders of the test's own.

#include "app/off_config.h"

#include <filesystem>

#include <gtest/gtest.h>

#include "app/state_dir.h"
#include "support/places.h"
#include "support/program.h"

namespace limegate::app {
namespace {

using test::contains;

class ConfigForOff : public testing::Test {
 protected:
  ConfigForOff() {
    std::filesystem::create_directories(service_.state_dir);
    std::filesystem::create_directories(own_);
  }
  /// A right file whose one station has this name and whose state is said to be there.
  static std::string right(const std::string& station, const std::string& state_dir) {
    std::string text =
        test::read_file(test::source_dir() + "/config/examples/observed-stirrer.toml");
    const auto put = [&](const std::string& old, const std::string& now) {
      const auto at = text.find(old);
      EXPECT_NE(at, std::string::npos) << old;
      text.replace(at, old.size(), now);
    };
    put("state_dir = \"/var/lib/limegate\"", "state_dir = \"" + state_dir + "\"");
    put("[[station]]\nname = \"reef\"", "[[station]]\nname = \"" + station + "\"");
    return text;
  }
  static std::string broken(const std::string& text) { return "this = is no TOML\n" + text; }
  static void keep(const std::string& state_dir, const std::string& station) {
    test::write_file(last_valid_path(state_dir), right(station, "state"));
  }
  [[nodiscard]] auto found(const std::string& file, const std::string& state_dir = {}) const {
    return config_for_off(file, state_dir, service_);
  }
  static std::string station_of(const tl::expected<OffConfig, std::string>& found) {
    return found ? found->config.stations.front().settings.name : found.error();
  }

  test::TempDir folder_;
  ServicePlaces service_{folder_.path() + "/limegate.toml", folder_.path() + "/service"};
  std::string file_ = folder_.path() + "/reef.toml";
  std::string own_ = folder_.path() + "/state";
};

TEST_F(ConfigForOff, a_right_file_is_what_is_switched_off_and_nothing_is_said) {
  test::write_file(file_, right("own", "state"));
  keep(own_, "kept");
  ASSERT_EQ(station_of(found(file_)), "own");
  EXPECT_EQ(found(file_)->said, "");
  EXPECT_EQ(found(file_)->config.state_dir, own_);
}

TEST_F(ConfigForOff, without_a_file_the_services_file_is_taken) {
  test::write_file(service_.file, right("service", "service"));
  EXPECT_EQ(station_of(found("")), "service");
}

TEST_F(ConfigForOff, without_a_file_and_the_services_file_the_services_last_valid_copy_is_taken) {
  keep(service_.state_dir, "kept-by-service");
  ASSERT_EQ(station_of(found("")), "kept-by-service");
  EXPECT_EQ(found("")->config.state_dir, service_.state_dir)
      << "not the directory that the copy names from its own folder";
  EXPECT_TRUE(contains(found("")->said, service_.file + ": can't be read")) << found("")->said;
  EXPECT_TRUE(contains(found("")->said, last_valid_path(service_.state_dir)));
}

TEST_F(ConfigForOff, a_services_file_that_is_no_toml_leads_to_the_services_last_valid_copy) {
  test::write_file(service_.file, "[daemon\n");
  keep(service_.state_dir, "kept-by-service");
  EXPECT_EQ(station_of(found("")), "kept-by-service");
  EXPECT_EQ(station_of(found(service_.file)), "kept-by-service");
}

TEST_F(ConfigForOff, a_file_that_is_no_toml_still_tells_its_state_dir_by_that_line) {
  test::write_file(file_, broken(right("own", "state")));
  keep(own_, "kept");
  keep(service_.state_dir, "kept-by-service");
  ASSERT_EQ(station_of(found(file_)), "kept");
  EXPECT_EQ(found(file_)->config.state_dir, own_);
}

TEST_F(ConfigForOff, a_file_that_tells_no_state_dir_leads_to_the_services) {
  test::write_file(file_, "]]]");
  keep(service_.state_dir, "kept-by-service");
  EXPECT_EQ(station_of(found(file_)), "kept-by-service");
  EXPECT_EQ(station_of(found("/nowhere/reef.toml")), "kept-by-service");
}

TEST_F(ConfigForOff, a_state_dir_that_is_given_goes_before_what_the_file_tells) {
  test::write_file(file_, broken(right("own", "state")));
  keep(own_, "kept");
  keep(service_.state_dir, "kept-by-service");
  EXPECT_EQ(station_of(found(file_, service_.state_dir)), "kept-by-service");
}

TEST_F(ConfigForOff, a_state_dir_alone_does_not_look_at_the_services_file) {
  test::write_file(service_.file, right("service", "service"));
  keep(own_, "kept");
  EXPECT_EQ(station_of(found("", own_)), "kept");
}

TEST_F(ConfigForOff, no_other_stations_copy_is_taken_where_the_file_tells_a_directory_without_one) {
  test::write_file(file_, broken(right("own", "state")));
  keep(service_.state_dir, "kept-by-service");
  const auto nothing = found(file_);
  ASSERT_FALSE(nothing);
  EXPECT_TRUE(contains(nothing.error(), file_ + ":1: ")) << nothing.error();
  EXPECT_TRUE(contains(nothing.error(), last_valid_path(own_) + ": can't be read"));
  EXPECT_TRUE(contains(nothing.error(), "--state-dir")) << "a remedy";
}

TEST_F(ConfigForOff, a_copy_that_is_broken_too_is_an_error_with_both_places) {
  test::write_file(service_.file, "[daemon\n");
  test::write_file(last_valid_path(service_.state_dir), "[daemon\n");
  const auto nothing = found("");
  ASSERT_FALSE(nothing);
  EXPECT_TRUE(contains(nothing.error(), service_.file + ":1: ")) << nothing.error();
  EXPECT_TRUE(contains(nothing.error(), last_valid_path(service_.state_dir) + ":1: "));
}

}  // namespace
}  // namespace limegate::app
