#include "alerts/kind.h"

#include <filesystem>
#include <fstream>
#include <set>
#include <sstream>
#include <string>

#include <gtest/gtest.h>

#include "support/places.h"

namespace limegate::alerts {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

TEST(Kinds, say_all_of_it) {
  std::set<std::string_view> ids;
  for (const Kind& kind : kinds()) {
    EXPECT_TRUE(ids.insert(kind.id).second) << kind.id << " twice";
    EXPECT_FALSE(kind.id.empty());
    EXPECT_GT(kind.consequence.size(), 20U) << kind.id;
    EXPECT_GT(kind.action.size(), 20U) << kind.id;
    EXPECT_GT(kind.may_wait, 0s) << kind.id;
    EXPECT_GE(kind.on_delay, 0s) << kind.id;
    EXPECT_GE(kind.off_delay, 0s) << kind.id;
    // What can't wait is told at once.
    EXPECT_TRUE(kind.urgency != Urgency::act_now || kind.on_delay == 0s) << kind.id;
    EXPECT_TRUE(kind.urgency != Urgency::act_now || kind.may_wait <= 3h) << kind.id;
    // What ends with its cause must be found again after a start, or it would be over.
    EXPECT_TRUE(kind.ends == Kind::Ends::when_seen || kind.found_again_within > 0s) << kind.id;
  }
  EXPECT_EQ(kinds().back().id, "*") << "a later version's latch has an entry";
}

TEST(Kinds, are_found_by_their_id) {
  EXPECT_EQ(kind_of("ph-stale").id, "ph-stale");
  EXPECT_EQ(kind_of("second-ph-stuck").id, "second-ph-*");
  EXPECT_EQ(kind_of("rule-leak").id, "rule-*");
  EXPECT_EQ(kind_of("of-a-later-version").id, "*");
}

std::string sources() {
  std::stringstream all;
  for (const char* folder : {"daemon", "drivers"}) {
    for (const auto& entry : std::filesystem::recursive_directory_iterator(
             std::filesystem::path{test::source_dir()} / folder)) {
      // The rehearsal's faults have names too.
      const auto folder_name = entry.path().parent_path().filename();
      if (entry.path().extension() == ".cpp" && folder_name != "alerts" &&
          folder_name != "rehearsal") {
        all << std::ifstream{entry.path()}.rdbuf();
      }
    }
  }
  return all.str();
}

// The program's own text: whether it comes at run time the rehearsal's faults show.
TEST(Kinds, are_all_raised_by_something) {
  const std::string all = sources();
  for (const Kind& kind : kinds()) {
    const bool pattern = kind.id.back() == '*';
    const std::string id{kind.id.substr(0, kind.id.size() - (pattern ? 1 : 0))};
    EXPECT_NE(all.find('"' + id + (pattern ? "" : "\"")), std::string::npos) << kind.id;
  }
}

TEST(Explaining, hides_what_follows_from_a_cause_and_nothing_else) {
  EXPECT_TRUE(explains("bus-silent", "ph-stale"));
  EXPECT_TRUE(explains("bus-silent", "temperature-missing"));
  EXPECT_TRUE(explains("bus-silent", "pump-unconfirmed"));
  EXPECT_TRUE(explains("ph-second-ceiling", "dosing-below-plan"));
  EXPECT_TRUE(explains("ph-stuck", "dosing-stopped"));
  EXPECT_TRUE(explains("ledger-not-writable", "record-not-written"));
  EXPECT_TRUE(explains("config-refused", "daemon-silent"));
  EXPECT_FALSE(explains("bus-silent", "pump-off-late")) << "limewater may flow";
  EXPECT_FALSE(explains("bus-silent", "pump-stuck-on"));
  EXPECT_FALSE(explains("ph-stale", "ph-stale"));
  EXPECT_FALSE(explains("dosing-stopped", "dosing-stopped"));
  EXPECT_FALSE(explains("mqtt-broker", "dosing-stopped"));
  EXPECT_FALSE(explains("temperature-unusual", "dosing-stopped"));
  EXPECT_FALSE(explains("dose-without-effect", "dosing-stopped"));
}

}  // namespace
}  // namespace limegate::alerts
