#include "config/rule_reader.h"

#include <algorithm>
#include <chrono>
#include <optional>
#include <utility>

#include <fmt/format.h>

#include "config/nearest.h"

namespace limegate::config {
namespace {

using rules::Comparison;
using rules::Input;
using rules::OwnerRule;
using rules::OwnerRulebook;

constexpr std::size_t kRulesMax = 32;
constexpr std::size_t kSaysMax = 200;
constexpr Bounds kValue{-1e9, 1e9};

/// The ways to compare. `is` is for what is on or off, `silent` for both, the others for numbers.
constexpr const char* kTests[] = {"is",      "higher_than", "lower_than",
                                  "outside", "climbing",    "silent"};

std::optional<std::size_t> read_input(TableReader& reader, const std::vector<Input>& inputs) {
  const std::string name = reader.text("input");
  std::vector<std::string> names;
  for (std::size_t i = 0; i < inputs.size(); ++i) {
    if (inputs[i].name == name) {
      return i;
    }
    names.push_back(inputs[i].name);
  }
  if (!name.empty()) {
    const std::string near = nearest(name, names);
    reader.complain("input", fmt::format("no [[station.input]] is named '{}'{}", name,
                                         near.empty() ? "" : "; did you mean '" + near + "'?"));
  }
  return std::nullopt;
}

rules::Test read_range(TableReader& reader) {
  const auto range = reader.maybe_range("outside", kValue);
  return range ? rules::Outside{range->first, range->second}
               : rules::Outside{kValue.low, kValue.high};
}

rules::Test read_test(TableReader& reader, const std::string& test) {
  if (test == "is") {
    using State = rules::Is::State;
    return rules::Is{reader.needed_choice<State>("is", {{"off", State::off}, {"on", State::on}})};
  }
  if (test == "higher_than") {
    return rules::Above{reader.number("higher_than", kValue)};
  }
  if (test == "lower_than") {
    return rules::Below{reader.number("lower_than", kValue)};
  }
  if (test == "outside") {
    return read_range(reader);
  }
  if (test == "climbing") {
    return rules::ClimbsBy{reader.number("climbing", {1e-6, 1e9, "a climb goes up"}),
                           seconds_of(60 * reader.number("within_min", {1, 60}))};
  }
  if (!reader.flag("silent", true)) {
    reader.complain("silent", "can only be true; without it, leave it out");
  }
  return rules::Silent{};
}

/// Whether what was met can be over again with this slack.
bool slack_fits(const Comparison& comparison) {
  if (const auto* range = std::get_if<rules::Outside>(&comparison.test)) {
    return 2 * comparison.slack < range->high - range->low;
  }
  const auto* climb = std::get_if<rules::ClimbsBy>(&comparison.test);
  return climb == nullptr || comparison.slack < climb->rise;
}

Comparison read_comparison(TableReader& reader, const std::vector<Input>& inputs) {
  Comparison comparison;
  const auto input = read_input(reader, inputs);
  comparison.input = input.value_or(OwnerRulebook::kPh);
  std::string test;
  for (const char* one : kTests) {
    if (reader.has(one) && !test.empty()) {
      reader.complain(one, "can't stand beside " + test + ": compare once, and join by any or all");
    } else if (reader.has(one)) {
      test = one;
    }
    reader.knows(one);
  }
  if (test.empty()) {
    reader.complain("input",
                    "is compared with nothing; add one of is, higher_than, lower_than, outside, "
                    "climbing, silent");
    reader.finish();
    return comparison;
  }
  comparison.test = read_test(reader, test);
  if (test != "is" && test != "silent") {
    if (const auto* climb = std::get_if<rules::ClimbsBy>(&comparison.test);
        climb != nullptr && inputs[comparison.input].age_max >= climb->within) {
      reader.complain("within_min",
                      "must be longer than the input's max_age_s: values that come so "
                      "rarely show no climb within it");
    }
    comparison.slack = reader.number("slack", {0, 1e9}, 0);
    if (!slack_fits(comparison)) {
      reader.complain("slack", "is so large that what was met could never be over");
    }
  }
  if (input && test != "silent") {
    const bool digital = inputs[*input].kind == Input::Kind::digital;
    if (digital != (test == "is")) {
      reader.complain(test, digital ? inputs[*input].name +
                                          " is on or off: write is = \"on\" or "
                                          "is = \"off\""
                                    : inputs[*input].name +
                                          " is a number: write higher_than, lower_than, "
                                          "outside or climbing");
    }
  }
  reader.finish();
  return comparison;
}

/// `when`, `all` or `any`: one of them, or none where the hours say it all.
void read_condition(TableReader& reader, const std::vector<Input>& inputs, OwnerRule& rule) {
  std::string given;
  for (const char* one : {"when", "all", "any"}) {
    if (!reader.has(one)) {
      reader.knows(one);
      continue;
    }
    if (!given.empty()) {
      reader.complain(one, "can't stand beside " + given + ": a rule has one condition");
      reader.knows(one);
      continue;
    }
    given = one;
    if (given == "when") {
      TableReader when = reader.table("when");
      rule.comparisons.push_back(read_comparison(when, inputs));
      continue;
    }
    const std::size_t before = reader.problem_count();
    for (TableReader& each : reader.tables(one)) {
      each.rename(reader.path() + "." + each.path());
      rule.comparisons.push_back(read_comparison(each, inputs));
    }
    if (rule.comparisons.empty() && reader.problem_count() == before) {
      reader.complain(one, "names no comparison, written as [{ input = \"leak\", is = \"on\" }]");
    }
  }
  rule.join = given == "any" ? OwnerRule::Join::any : OwnerRule::Join::all;
  if (given.empty() && !rule.hours) {
    reader.complain("when", "is missing: write when, all or any, or at least hours");
  }
}

/// A rule that is met when all is well would hold for ever, or call every day.
void check_usual(TableReader& reader, const std::vector<Input>& inputs, const OwnerRule& rule) {
  if (rule.comparisons.empty()) {
    return;
  }
  rules::OwnerEvidence usual{Instant{}, rule.hours ? rule.hours->from : Duration{}, {}};
  bool own = true;
  for (const Comparison& comparison : rule.comparisons) {
    // What pH and temperature usually are, nobody has said.
    const bool probe = comparison.input < OwnerRulebook::kFirstOwn;
    own = own && !probe;
    usual.known.push_back(
        {probe ? std::nullopt : std::optional{inputs[comparison.input].usual}, Duration{}});
  }
  const auto found = follow(rule, inputs, usual, beginning_of(rule)).finding;
  if (found == rules::Finding::met) {
    reader.complain("name", "the rule is met at the usual values of its inputs, when all is well");
  } else if (found == rules::Finding::unknown && own) {
    reader.complain("name",
                    "the usual value of an input lies within the slack, where the rule would go "
                    "on to hold after each start");
  }
}

void read_name(TableReader& reader, const std::vector<OwnerRule>& others, OwnerRule& rule) {
  rule.name = reader.text("name");
  if (!rule.name.empty() && !is_name(rule.name)) {
    reader.complain("name", "may hold only a-z, 0-9 and '-', 40 characters at most");
  }
  constexpr std::string_view suffix = "-unknown";
  if (rule.name.size() >= suffix.size() &&
      rule.name.compare(rule.name.size() - suffix.size(), suffix.size(), suffix) == 0) {
    reader.complain("name", "must not end in -unknown: so ends the code of a hold whose input is");
  }
  if (std::any_of(others.begin(), others.end(),
                  [&](const OwnerRule& other) { return other.name == rule.name; })) {
    reader.complain("name", "another rule has the name '" + rule.name + "' already");
  }
}

OwnerRule read_rule(TableReader& reader, const std::string& path, const OwnerRulebook& book) {
  OwnerRule rule;
  read_name(reader, book.rules, rule);
  reader.rename(path + ".rule." + rule.name);
  rule.says = reader.maybe_text("says").value_or("");
  if (rule.says.size() > kSaysMax) {
    reader.complain("says", "is one line of 200 characters at most");
  }
  rule.hours = reader.maybe_hours("hours");
  read_condition(reader, book.inputs, rule);
  rule.lasting = seconds_of(reader.number("lasting_s", {0, 86400}, 0));
  using Effect = OwnerRule::Effect;
  rule.effect =
      reader.needed_choice<Effect>("effect", {{"hold", Effect::hold}, {"alert", Effect::alert}});
  using rules::Clears;
  rule.release = reader.choice<Clears>(
      "release", {{"by-itself", Clears::by_itself}, {"by-person", Clears::by_person}});
  if (rule.release == Clears::by_person && reader.has("release_after_s")) {
    reader.complain("release_after_s", "belongs to release = \"by-itself\" only");
  }
  rule.release_after = seconds_of(reader.number("release_after_s", {0, 21600}, 60));
  reader.finish();
  return rule;
}

void warn_of_unused(const std::string& path, const OwnerRulebook& book,
                    std::vector<std::string>& warnings) {
  for (std::size_t i = OwnerRulebook::kFirstOwn; i < book.inputs.size(); ++i) {
    const bool used = std::any_of(book.rules.begin(), book.rules.end(), [&](const OwnerRule& rule) {
      return std::any_of(rule.comparisons.begin(), rule.comparisons.end(),
                         [&](const Comparison& one) { return one.input == i; });
    });
    if (!used) {
      warnings.push_back(path + ".input." + book.inputs[i].name + ": no rule looks at it.");
    }
  }
}

}  // namespace

void read_rules(TableReader& reader, Station& station, std::vector<std::string>& warnings) {
  OwnerRulebook& book = station.settings.owner;
  for (TableReader& one : reader.tables("rule")) {
    OwnerRule rule = read_rule(one, reader.path(), book);
    if (one.problem_count() == 0) {  // else it would speak of what is told already
      check_usual(one, book.inputs, rule);
    }
    book.rules.push_back(std::move(rule));
  }
  if (book.rules.size() > kRulesMax) {
    reader.complain("rule",
                    fmt::format("{} rules are too many: at most {}", book.rules.size(), kRulesMax));
  }
  warn_of_unused(reader.path(), book, warnings);
}

}  // namespace limegate::config
