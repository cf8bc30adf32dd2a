// The manual (daemon/manual) against the program that it tells of: nothing that the program has is
// missing there, and what is made from its tables is what they say now.
//
// LIMEGATE_MANUAL=write build/release/tests/test_manual writes those lines anew.

#include <cstdlib>
#include <filesystem>
#include <regex>
#include <set>
#include <sstream>
#include <string>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include "app/help_command.h"
#include "app/manual_pages.h"
#include "manual/facts.h"
#include "support/places.h"
#include "support/program.h"
#include "web/overview_json.h"

namespace limegate::test {
namespace {

using testing::HasSubstr;

constexpr const char* kMark = ".\\\" made from: ";

std::vector<std::string> pages() {
  std::vector<std::string> paths;
  for (const auto& file : std::filesystem::directory_iterator(source_dir() + "/daemon/manual")) {
    paths.push_back(file.path().string());
  }
  return paths;
}

std::vector<std::string> lines_of(const std::string& text) {
  std::vector<std::string> lines;
  std::istringstream stream{text};
  for (std::string line; std::getline(stream, line);) {
    lines.push_back(line);
  }
  return lines;
}

std::string all_pages() {
  std::string text;
  for (const std::string& page : pages()) {
    text += read_file(page);
  }
  return text;
}

Facts all_facts() {
  Facts facts = facts_of_keys();
  for (const auto& [name, fact] : facts_of_keys()) {
    facts["limit" + name.substr(name.find(' '))] = fact;
  }
  facts.merge(facts_of_holds());
  facts.merge(facts_of_alerts());
  facts.merge(facts_of_questions());
  facts.merge(facts_of_properties());
  return facts;
}

bool may_be_a_heading(const std::string& fact) {
  return fact.rfind("A table", 0) == 0 || fact.rfind("A list", 0) == 0;
}

bool writing() {
  const char* const asked = std::getenv("LIMEGATE_MANUAL");  // NOLINT(concurrency-mt-unsafe)
  return asked != nullptr && std::string{asked} == "write";
}

/// "Since 0.1.0.": what a page says of a key once stays; of a new one it is this version.
std::string since(const std::string& name, const std::string& written) {
  if (name.rfind("key ", 0) != 0) {
    return "";
  }
  static const std::regex told{R"(Since \d+\.\d+\.\d+\.\n$)"};
  std::smatch found;
  return std::regex_search(written, found, told) ? found.str() : "Since " LIMEGATE_VERSION ".\n";
}

/// The entry that a fact stands in, which is also what `limegate help` knows it by.
std::string entry_of(const std::string& fact) {
  const std::string what = fact.substr(0, fact.find(' '));
  const std::string name = fact.substr(fact.find(' ') + 1);
  return what == "key"        ? name.substr(name.rfind('.') + 1)
         : what == "property" ? name.substr(name.find('/') + 1)
         : name == "*"        ? "any other"
                              : name;
}

/// A sentence a line, as mdoc wants it.
std::string by_sentences(const std::string& fact) {
  return std::regex_replace(fact, std::regex{"([.]) "}, "$1\n") + "\n";
}

/// The page with what follows its marks as the program says it now; what is marked is added to
/// `told`.
std::string with_facts(const std::string& page, const Facts& facts,
                       std::multiset<std::string>& told) {
  const std::vector<std::string> lines = lines_of(read_file(page));
  std::string text;
  std::string entry;
  for (std::size_t i = 0; i < lines.size(); ++i) {
    text += lines[i] + "\n";
    entry = lines[i].rfind(".It ", 0) == 0 ? lines[i] : entry;
    if (lines[i].rfind(kMark, 0) != 0) {
      continue;
    }
    const std::string name = lines[i].substr(std::string{kMark}.size());
    told.insert(name);
    std::string written;
    for (; i + 1 < lines.size() && lines[i + 1].rfind('.', 0) != 0; ++i) {
      written += lines[i + 1] + "\n";
    }
    const auto fact = facts.find(name);
    EXPECT_TRUE(fact != facts.end())
        << page << " tells of what the program does not have: " << name;
    EXPECT_TRUE(name.rfind("limit ", 0) == 0 || entry == ".It " + entry_of(name))
        << page << " tells of " << name << " under: " << entry;
    const std::string now =
        fact == facts.end() ? written : by_sentences(fact->second) + since(name, written);
    EXPECT_TRUE(writing() || written == now)
        << page << ", of " << name << ":\n"
        << written << "now is:\n"
        << now << "LIMEGATE_MANUAL=write build/release/tests/test_manual writes it anew.";
    text += now;
  }
  return text;
}

TEST(Manual, says_what_the_programs_tables_say) {
  const Facts facts = all_facts();
  std::multiset<std::string> told;
  for (const std::string& page : pages()) {
    const std::string now = with_facts(page, facts, told);
    if (writing()) {
      write_file(page, now);
    }
  }
  const std::string text = all_pages();
  for (const auto& [name, fact] : facts) {
    const std::string bare = name.substr(name.find(' ') + 1);
    if (name.rfind("limit ", 0) == 0) {
      continue;  // a key that may be told of once more
    }
    if (may_be_a_heading(fact) && told.count(name) == 0) {
      EXPECT_TRUE(contains(text, "[" + bare + "]")) << "no part of the manual is about " << bare;
    } else {
      EXPECT_EQ(told.count(name), 1U) << "the manual tells so often of: " << name;
    }
  }
}

/// Every name that the loader's source asks for; by the source, because no file takes every branch.
std::set<std::string> keys_in_the_loader() {
  static const std::regex asking{
      R"re((?:\.(?:maybe_|needed_)?(?:number|integer|text|flag|choice|word|range|hours|time_of_day|date|tables?)(?:<[^>]*>)?\(|read_\w+\(reader, )\s*"(\w*[a-z])"(?:, "(\w+)")?)re"};
  std::set<std::string> keys;
  for (const auto& file : std::filesystem::directory_iterator(source_dir() + "/config")) {
    if (file.path().extension() != ".cpp") {
      continue;
    }
    const std::string text = read_file(file.path().string());
    for (std::sregex_iterator at{text.begin(), text.end(), asking}, end; at != end; ++at) {
      keys.insert((*at)[1]);
      if ((*at)[2].matched && (*at)[0].str().rfind("read_", 0) == 0) {
        keys.insert((*at)[2]);
      }
    }
  }
  return keys;
}

/// Every key of a document, at whatever depth.
std::set<std::string> keys_of(const nlohmann::json& document) {
  std::set<std::string> keys;
  // By RFC 6901: "/stations/0/ph/value". Indexes are none.
  const nlohmann::json flat = document.flatten();
  for (const auto& [pointer, leaf] : flat.items()) {
    for (nlohmann::json::json_pointer at{pointer}; !at.empty(); at.pop_back()) {
      if (document.at(at.parent_pointer()).is_object()) {
        keys.insert(at.back());
      }
    }
  }
  return keys;
}

TEST(Manual, tells_of_every_key_of_the_status_for_scripts) {
  station::Overview overview;
  station::Status status;
  status.second_ph = signal::Reading{};
  status.inputs.emplace_back();
  status.holds.emplace_back();
  status.alerts.emplace_back();
  status.alerts.back().shelved_until = WallTime{};
  status.last_given = station::History::Given{};
  status.pauses.emplace_back();
  status.last_event = station::Event{};
  status.refused = station::Refusal{};
  overview.stations.push_back(status);
  overview.mqtt = station::MqttState{};
  const std::set<std::string> keys = keys_of(web::json_of(overview));
  EXPECT_GT(keys.size(), 60U);
  const std::string page = std::regex_replace(read_file(source_dir() + "/daemon/manual/limegate.1"),
                                              std::regex{"[ ,;()]"}, "\n");
  const std::vector<std::string> words = lines_of(page);
  for (const std::string& key : keys) {
    EXPECT_THAT(words, ::testing::Contains(key));
  }
}

TEST(Manual, knows_every_key_that_the_loader_asks_for) {
  std::set<std::string> known;
  for (const auto& [name, fact] : facts_of_keys()) {
    const std::string key = name.substr(std::string{"key "}.size());
    const std::size_t dot = key.rfind('.');
    known.insert(dot == std::string::npos ? key : key.substr(dot + 1));
  }
  const std::set<std::string> asked = keys_in_the_loader();
  EXPECT_GT(asked.size(), 120U) << "the expression finds them";
  for (const std::string& key : asked) {
    EXPECT_EQ(known.count(key), 1U) << "tests/manual/every_key.toml does not ask for " << key;
  }
}

TEST(Manual, shows_every_key_hold_and_alert_by_limegate_help) {
  for (const auto& [name, fact] : all_facts()) {
    if (name.rfind("limit ", 0) != 0 && !may_be_a_heading(fact)) {
      EXPECT_NE(app::help_on(entry_of(name)), "") << name;
    }
  }
  EXPECT_THAT(app::help_on("ph_ceiling"), HasSubstr("8.45"));
  EXPECT_EQ(app::help_on("no-such-thing"), "");
}

TEST(Manual, is_shown_page_by_page_and_listed) {
  const std::string list = app::help_on("");
  ASSERT_EQ(app::manual_pages().size(), pages().size()) << "every page is built in";
  for (const app::ManualPage& page : app::manual_pages()) {
    EXPECT_THAT(list, HasSubstr("  " + std::string{page.topic} + " "));
    const std::string text = app::help_on(page.topic);
    EXPECT_THAT(text, HasSubstr("\nNAME\n")) << page.file;
    EXPECT_THAT(text, HasSubstr("SEE ALSO")) << page.file << " is there to its end";
    EXPECT_THAT(text, testing::Not(HasSubstr("\b"))) << page.file << " strikes no letter twice";
  }
}

/// The names in a part of a CLI help: "  name   what it is".
std::set<std::string> names_in(const std::string& help, const std::string& part,
                               const std::string& pattern) {
  const std::regex line{"^  (?:-h,)?(" + pattern + ")[ =:].*"};
  std::set<std::string> names;
  bool inside = false;
  for (const std::string& one : lines_of(help)) {
    std::smatch found;
    inside = one == part || (inside && !one.empty());
    if (inside && std::regex_match(one, found, line)) {
      names.insert(found[1]);
    }
  }
  return names;
}

/// "--seeds" does not tell of "--seed".
bool tells_of(const std::string& entry, const std::string& option) {
  return std::regex_search(entry, std::regex{option + "(?![a-z-])"});
}

/// Of a command and (into `below`) the commands below it.
void expect_told(const std::string& entry, const std::vector<std::string>& command,
                 std::vector<std::vector<std::string>>& below) {
  std::vector<std::string> with_help = command;
  with_help.emplace_back("--help");
  const Ran help = run_program(with_help);
  ASSERT_EQ(help.code, 0);
  const auto options = names_in(help.output, "Options:", "--[a-z-]+");
  ASSERT_THAT(options, testing::Contains("--help"));
  for (const std::string& option : options) {
    const bool everywhere = option == "--help";  // said once, of all
    EXPECT_TRUE(everywhere || tells_of(entry, option)) << command[1] << " " << option;
  }
  for (const std::string& sub : names_in(help.output, "Subcommands:", "[a-z-]+")) {
    EXPECT_THAT(entry, HasSubstr(command[1] + " " + sub));
    below.push_back(command);
    below.back().push_back(sub);
  }
}

TEST(Manual, tells_of_every_command_and_option) {
  const Ran help = run_program({limegate_path(), "--help"});
  const auto commands = names_in(help.output, "Subcommands:", "[a-z-]+");
  ASSERT_THAT(commands, testing::IsSupersetOf({"run", "help", "run-attended"}));
  for (const std::string& command : commands) {
    const std::string entry = app::help_on(command);
    EXPECT_THAT(entry, HasSubstr("limegate " + command)) << "limegate.1";
    std::vector<std::vector<std::string>> left{{limegate_path(), command}};
    while (!left.empty()) {
      const std::vector<std::string> next = left.back();
      left.pop_back();
      expect_told(entry, next, left);
    }
  }
}

TEST(Manual, tells_of_every_option_of_the_delivery) {
  const Ran help = run_program({limegate_path() + "-deliver", "--help"});
  const auto options = names_in(help.output, "Options:", "--[a-z-]+");
  ASSERT_THAT(options, testing::Contains("--network"));
  const std::string entry = app::help_on("limegate-deliver");
  for (const std::string& option : options) {
    EXPECT_TRUE(option == "--help" || tells_of(entry, option)) << option;
  }
}

TEST(Manual, tells_of_what_every_device_has_on_a_broker) {
  static const std::regex attribute{R"re("/?(\$[a-z]+)[/"])re"};
  std::set<std::string> found;
  for (const auto& file : std::filesystem::directory_iterator(source_dir() + "/daemon/mqtt")) {
    const std::string text = read_file(file.path().string());
    for (std::sregex_iterator at{text.begin(), text.end(), attribute}, end; at != end; ++at) {
      found.insert((*at)[1]);
    }
  }
  ASSERT_THAT(found, testing::IsSupersetOf({"$state", "$description", "$alert"}));
  const std::string page = app::help_on("mqtt");
  for (const std::string& one : found) {
    EXPECT_TRUE(contains(page, "     " + one)) << one;
  }
}

TEST(Manual, is_sound_mdoc) {
  for (const std::string& page : pages()) {
    const Ran lint = run_program({"/usr/bin/env", "mandoc", "-Tlint", "-Wwarning", page});
    EXPECT_EQ(lint.code, 0) << page;
    EXPECT_EQ(lint.output, "") << page;
  }
}

TEST(Readme, is_short_and_names_what_a_keeper_needs_first) {
  const std::string text = read_file(source_dir() + "/README.md");
  EXPECT_LE(text.size(), 7000U);
  for (const std::string& line : lines_of(text)) {
    EXPECT_LE(line.size(), 160U) << line;
  }
  for (const char* part :
       {"daemon/demo", "tests/run", "caustic", "residual-current", "Local codes",
        "independent limit", "day_volume_ml = 0", "tests/benchmarks/recorded.txt"}) {
    EXPECT_THAT(text, HasSubstr(part));
  }
  for (const std::string& page : pages()) {
    const std::string file = std::filesystem::path{page}.filename().string();
    EXPECT_THAT(text, HasSubstr(file.substr(0, file.size() - 2))) << "README.md points at " << file;
  }
}

}  // namespace
}  // namespace limegate::test
