// The key that a hold's row names is one that the loader reads, with bounds.

#include <string>
#include <type_traits>
#include <variant>
#include <vector>

#include <gtest/gtest.h>

#include "config/load.h"
#include "rules/hold.h"

namespace limegate::config {
namespace {

template <class... Reasons>
std::vector<rules::Hold> one_of_each(std::type_identity<std::variant<Reasons...>> /*kinds*/) {
  std::vector<rules::Hold> holds;
  const auto add = [&]<class Reason>(std::type_identity<Reason> /*kind*/) {
    holds.emplace_back(Reason{});
    if constexpr (requires(Reason reason) { reason.role = rules::Role::temperature; }) {
      Reason of_temperature{};
      of_temperature.role = rules::Role::temperature;
      holds.emplace_back(of_temperature);
    }
  };
  (add(std::type_identity<Reasons>{}), ...);
  return holds;
}

/// A simulated station of our own scenario, with this key set far beyond any bound.
std::string with_absurd(const std::string& table, const std::string& key) {
  const auto set = [&](const char* name) {
    return "[station." + std::string{name} + "]\n" + (table == name ? key + " = 1e12\n" : "");
  };
  return R"([daemon]
state_dir = "state"
[[station]]
name = "reef"
water_volume_l = 400
evaporation_ml_per_day = 4000
reactor_bore_mm = 100
simulated = true
)" + set("pump") +
         "rate_ml_per_min = 50\n" + set("stirrer") + set("plan") + set("limits");
}

std::string problems_of(const std::string& text) {
  std::string all;
  if (const auto config = parse(text); !config) {
    for (const Problem& problem : config.error()) {
      all += problem.to_string("reef.toml") + "\n";
    }
  }
  return all;
}

TEST(LimitKeys, of_every_hold_are_read_by_the_loader_with_bounds) {
  ASSERT_EQ(problems_of(with_absurd("", "")), "") << "what is not absurd is a file";
  int keys = 0;
  for (const rules::Hold& hold : one_of_each(std::type_identity<rules::AnyReason>{})) {
    const std::string path = rules::limit_key(hold);
    if (path.empty()) {
      continue;
    }
    ++keys;
    const auto dot = path.find('.');
    ASSERT_NE(dot, std::string::npos) << path;
    const std::string key = path.substr(dot + 1);
    const std::string said = problems_of(with_absurd(path.substr(0, dot), key));
    EXPECT_NE(said.find(key + ": "), std::string::npos) << path << ": " << said;
    EXPECT_EQ(said.find("is not a key"), std::string::npos) << path << ": " << said;
  }
  EXPECT_GE(keys, 20);
}

}  // namespace
}  // namespace limegate::config
