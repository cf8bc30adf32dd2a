// The owner's rules in the core: they end pulses, latch, call, and open nothing.

#include <chrono>
#include <string>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include "station/bench.h"

namespace limegate::station {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using rules::Input;
using rules::OwnerRule;
using rules::OwnerRulebook;
using testing::HasSubstr;

constexpr std::size_t kPump = OwnerRulebook::kFirstOwn;
constexpr std::size_t kLevel = kPump + 1;
constexpr auto kAccepted = Answer::Verdict::accepted;
constexpr auto kRefused = Answer::Verdict::refused;

OwnerRule pump_off() {
  OwnerRule rule;
  rule.name = "pump-off";
  rule.comparisons = {{kPump, rules::Is{rules::Is::State::off}}};
  return rule;
}

OwnerRule latching() {
  OwnerRule rule = pump_off();
  rule.release = rules::Clears::by_person;
  return rule;
}

OwnerRule calling() {
  OwnerRule rule = pump_off();
  rule.effect = OwnerRule::Effect::alert;
  return rule;
}

Settings with(const std::vector<OwnerRule>& rules) {
  Settings settings = Bench::usual();
  settings.owner.inputs[OwnerRulebook::kPh].age_max = 10s;
  settings.owner.inputs[OwnerRulebook::kTemperature].age_max = 10s;
  settings.owner.inputs.push_back({"return-pump", Input::Kind::digital, "", 10s, 1});
  settings.owner.inputs.push_back({"level", Input::Kind::analogue, "cm", 10s, 12});
  settings.owner.rules = rules;
  return settings;
}

struct OwnBench : Bench {
  explicit OwnBench(const OwnerRule& rule, const History& history = {})
      : Bench(with({rule}), history) {
    inputs = {1.0, 12.0};
  }
  Effects pump(double value) { return see(InputSample{kPump, value}); }
  [[nodiscard]] std::string sentence(const std::string& code) const {
    for (const Status::Held& held : core.status(now).holds) {
      if (held.code == code) {
        return held.sentence;
      }
    }
    return "";
  }
};

TEST(OwnerRules, their_inputs_are_shown_as_far_as_they_are_known) {
  OwnBench bench{pump_off()};
  bench.run(5s);
  auto shown = bench.core.status(bench.now).inputs;
  ASSERT_EQ(shown.size(), bench.inputs.size());
  EXPECT_EQ(shown[0].value, bench.inputs[0]);
  bench.inputs[0] = std::nan("");
  bench.run(2s);
  EXPECT_FALSE(bench.core.status(bench.now).inputs[0].value) << "that makes no sense";
  bench.inputs[0].reset();
  bench.inputs[1].reset();
  bench.run(24h);
  for (const rules::InputShown& input : bench.core.status(bench.now).inputs) {
    EXPECT_FALSE(input.value) << input.name << " is too old";
    EXPECT_GE(input.age, 23h);
  }
}

TEST(OwnerRules, a_value_that_arrives_ends_a_running_pulse_before_the_next_step) {
  OwnBench bench{pump_off()};
  ASSERT_TRUE(bench.until<RunEffect>());
  bench.run(2s);
  ASSERT_EQ(bench.phase(), PumpDuty::Phase::running);
  const std::size_t offs = bench.count<SwitchOff>();
  bench.pump(0.0);
  EXPECT_GT(bench.count<SwitchOff>(), offs);
  bench.inputs[0] = 0.0;
  bench.second();
  EXPECT_TRUE(bench.held_for("rule-pump-off"));
  EXPECT_EQ(bench.raised("pulse-cut-short"), 1U);
  EXPECT_FALSE(bench.ran_in_observe);
}

TEST(OwnerRules, no_pulse_runs_while_a_rule_holds_and_dosing_goes_on_afterwards) {
  OwnBench bench{pump_off()};
  bench.inputs[0] = 0.0;
  bench.run(5h);
  EXPECT_EQ(bench.count<AppendPulse>(), 0U);
  EXPECT_THAT(bench.sentence("rule-pump-off"), HasSubstr("return-pump is off"));
  bench.inputs[0] = 1.0;
  EXPECT_TRUE(bench.until<RunEffect>());
}

TEST(OwnerRules, an_input_that_was_never_read_or_grew_old_holds_and_a_person_is_told) {
  OwnBench bench{pump_off()};
  bench.inputs[0].reset();
  bench.run(5min);
  EXPECT_TRUE(bench.held_for("rule-pump-off-unknown"));
  bench.inputs[0] = 1.0;
  bench.run(1s);
  EXPECT_FALSE(bench.held_for("rule-pump-off-unknown"));
  bench.inputs[0].reset();
  bench.run(10s);
  EXPECT_FALSE(bench.held_for("rule-pump-off-unknown")) << "its last answer is 10 s old";
  bench.run(1s);
  EXPECT_TRUE(bench.held_for("rule-pump-off-unknown"));
  EXPECT_EQ(bench.raised("long-rule-pump-off-unknown"), 0U);
  bench.run(11min);
  EXPECT_EQ(bench.raised("long-rule-pump-off-unknown"), 1U);
}

TEST(OwnerRules, what_makes_no_sense_holds_at_once) {
  OwnBench bench{pump_off()};
  bench.run(1min);
  ASSERT_FALSE(bench.held_for("rule-pump-off-unknown"));
  bench.inputs[0] = std::nan("");
  bench.second();
  EXPECT_TRUE(bench.held_for("rule-pump-off-unknown"));
}

TEST(OwnerRules, a_latch_is_kept_and_only_a_person_at_the_station_releases_it) {
  OwnBench bench{latching()};
  bench.run(1min);
  ASSERT_EQ(bench.count<StoreLatch>(), 0U) << "no start latches";
  bench.inputs[0] = 0.0;
  bench.run(3s);
  ASSERT_EQ(bench.count<StoreLatch>(), 1U);
  EXPECT_EQ(bench.newest<StoreLatch>()->code, "rule-pump-off");
  EXPECT_EQ(bench.newest<StoreLatch>()->to, StoreLatch::To::latched);
  EXPECT_EQ(bench.newest_event("held-rule-pump-off").severity, Severity::alert);
  EXPECT_TRUE(bench.alert_stands("rule-pump-off"));
  EXPECT_EQ(bench.command(Release{"rule-pump-off"}).verdict, kRefused) << "it is still off";

  bench.inputs[0] = 1.0;
  bench.run(1h);
  EXPECT_TRUE(bench.held_for("rule-pump-off"));
  EXPECT_EQ(bench.command(Release{"rule-pump-off"}, Origin::afar).verdict, kRefused);
  EXPECT_EQ(bench.command(Release{"rule-pump-of"}).verdict, kRefused);
  EXPECT_EQ(bench.command(Release{"rule-pump-off"}).verdict, kAccepted);
  EXPECT_EQ(bench.newest<StoreLatch>()->to, StoreLatch::To::released);
  bench.run(1s);
  EXPECT_FALSE(bench.held_for("rule-pump-off"));
  EXPECT_FALSE(bench.alert_stands("rule-pump-off"));

  bench.inputs[0] = 0.0;
  bench.second();
  EXPECT_TRUE(bench.held_for("rule-pump-off"));
  EXPECT_EQ(bench.count<StoreLatch>(), 3U);
}

TEST(OwnerRules, an_unknown_input_does_not_release_and_can_not_be_released) {
  OwnBench bench{latching()};
  bench.inputs[0] = 0.0;
  bench.run(3s);
  bench.inputs[0].reset();
  bench.run(1min);
  EXPECT_TRUE(bench.held_for("rule-pump-off"));
  EXPECT_EQ(bench.command(Release{"rule-pump-off"}).verdict, kRefused);
}

TEST(OwnerRules, a_moment_between_two_steps_latches_too) {
  OwnBench bench{latching()};
  bench.run(1min);
  bench.pump(0.0);
  bench.pump(1.0);
  bench.run(1min);
  EXPECT_TRUE(bench.held_for("rule-pump-off"));
  EXPECT_EQ(bench.count<StoreLatch>(), 1U);
}

TEST(OwnerRules, a_latch_is_an_alert_whenever_its_input_turned) {
  // Also where the rule held before it latched: in the first minute after a start, because nothing
  // was known, and while it is met and has not lasted.
  for (const auto& [lasting, release_after] :
       {std::pair<Duration, Duration>{0s, 0s}, {30s, 0s}, {0s, 60s}, {30s, 60s}}) {
    for (const Duration later : {0s, 5s, 30s, 59s, 60s, 600s}) {
      OwnerRule rule = latching();
      rule.lasting = lasting;
      rule.release_after = release_after;
      OwnBench bench{rule};
      bench.run(later);
      bench.inputs[0] = 0.0;
      bench.run(3min);
      ASSERT_EQ(bench.core.latches(), std::vector<std::string>{"rule-pump-off"})
          << in_seconds(later);
      EXPECT_TRUE(bench.alert_stands("rule-pump-off"))
          << in_seconds(later) << ", lasting " << in_seconds(lasting) << ", released after "
          << in_seconds(release_after);
    }
  }
}

TEST(OwnerRules, a_latch_stays_over_a_restart) {
  History history;
  history.latches = {"rule-pump-off"};
  OwnBench bench{latching(), history};
  bench.run(1min);
  EXPECT_TRUE(bench.held_for("rule-pump-off"));
  EXPECT_EQ(bench.count<StoreLatch>(), 0U) << "it is kept already";
  EXPECT_EQ(bench.command(Release{"rule-pump-off"}).verdict, kAccepted);
}

TEST(OwnerRules, a_latch_whose_rule_is_no_longer_in_the_file_is_forgotten_and_told) {
  for (const auto& rule : {pump_off(), calling()}) {  // no longer by a person, no longer a hold
    History history;
    history.latches = {"rule-pump-off"};
    OwnBench bench{rule, history};
    bench.run(2s);
    EXPECT_FALSE(bench.held_for("rule-pump-off"));
    EXPECT_EQ(bench.raised("rule-forgotten"), 1U);
    EXPECT_EQ(bench.newest<StoreLatch>()->to, StoreLatch::To::released);
  }
  History history;
  history.latches = {"rule-gone", "ph-second-ceiling"};
  OwnBench bench{pump_off(), history};
  bench.run(2s);
  EXPECT_EQ(bench.raised("rule-forgotten"), 1U);
  EXPECT_THAT(bench.newest_event("rule-forgotten").sentence, HasSubstr("rule-gone"));
  EXPECT_TRUE(bench.held_for("ph-second-ceiling")) << "the station's own latches stay";
}

TEST(OwnerRules, an_alert_stands_while_it_is_met_and_holds_nothing) {
  OwnBench bench{calling()};
  bench.run(1min);
  EXPECT_EQ(bench.raised("rule-pump-off-unknown"), 0U) << "a fresh start is no news";
  bench.inputs[0] = 0.0;
  bench.run(2s);
  EXPECT_EQ(bench.raised("rule-pump-off"), 1U);
  EXPECT_THAT(bench.newest_event("rule-pump-off").sentence, HasSubstr("return-pump is off"));
  EXPECT_TRUE(bench.alert_stands("rule-pump-off"));
  EXPECT_FALSE(bench.held_for("rule-pump-off"));
  bench.inputs[0] = 1.0;
  bench.run(2s);
  EXPECT_FALSE(bench.alert_stands("rule-pump-off"));
  EXPECT_TRUE(bench.until<RunEffect>());
}

TEST(OwnerRules, an_alert_for_a_person_stays_until_one_has_seen_it) {
  OwnerRule rule = calling();
  rule.release = rules::Clears::by_person;
  OwnBench bench{rule};
  bench.run(1min);
  bench.inputs[0] = 0.0;
  bench.run(2s);
  bench.inputs[0] = 1.0;
  bench.run(1h);
  EXPECT_TRUE(bench.alert_stands("rule-pump-off"));
}

OwnerRule ph_high() {
  OwnerRule rule;
  rule.name = "ph-high";
  rule.comparisons = {{OwnerRulebook::kPh, rules::Above{8.3}}};
  return rule;
}

TEST(OwnerRules, look_at_the_stations_own_probes_as_well) {
  OwnBench bench{ph_high()};
  bench.run(1min);
  EXPECT_FALSE(bench.held_for("rule-ph-high"));
  bench.ph = 8.35;
  bench.run(1min);
  EXPECT_TRUE(bench.held_for("rule-ph-high"));
  EXPECT_THAT(bench.sentence("rule-ph-high"), HasSubstr("ph is 8.3"));
  bench.samples = false;
  bench.run(30s);
  EXPECT_TRUE(bench.held_for("rule-ph-high-unknown"));
}

TEST(OwnerRules, believe_no_bad_reading_of_a_probe_however_fresh) {
  OwnBench bench{ph_high()};
  bench.run(1min);
  ASSERT_FALSE(bench.held_for("rule-ph-high-unknown"));
  bench.ph = 6.0;  // not plausible
  bench.run(1min);
  EXPECT_TRUE(bench.held_for("rule-ph-high-unknown"));
}

TEST(OwnerRules, no_input_ever_feeds_the_stations_probes) {
  OwnBench bench{ph_high()};
  bench.samples = false;
  for (int i = 0; i < 60; ++i) {
    bench.see(InputSample{OwnerRulebook::kPh, 8.2});
    bench.see(InputSample{OwnerRulebook::kTemperature, 25.0});
    bench.see(InputSample{OwnerRulebook::kFirstOwn + 2, 1.0});  // there is none such
    bench.second();
  }
  EXPECT_TRUE(bench.held_for("ph-missing"));
  EXPECT_TRUE(bench.held_for("temperature-missing"));
  EXPECT_TRUE(bench.held_for("rule-ph-high-unknown")) << "not even the owner's rules";
}

TEST(OwnerRules, a_climb_is_seen_over_its_window) {
  OwnerRule rule;
  rule.name = "filling";
  rule.comparisons = {{kLevel, rules::ClimbsBy{2.0, 30min}}};
  OwnBench bench{rule};
  bench.run(25min);
  EXPECT_TRUE(bench.held_for("rule-filling-unknown")) << "the window was not seen yet";
  bench.run(10min);
  ASSERT_FALSE(bench.held_for("rule-filling-unknown"));
  ASSERT_FALSE(bench.held_for("rule-filling"));
  for (int i = 0; i < 25 * 60; ++i) {
    bench.inputs[1] = 12.0 + 0.1 * i / 60.0;  // 0.1 cm a minute: 2 cm take 20 min
    bench.second();
    if (i < 19 * 60) {
      ASSERT_FALSE(bench.held_for("rule-filling")) << i;
    }
  }
  EXPECT_TRUE(bench.held_for("rule-filling"));
  EXPECT_THAT(bench.sentence("rule-filling"), HasSubstr("within 30 min"));
  bench.run(40min);
  EXPECT_FALSE(bench.held_for("rule-filling"));
}

TEST(OwnerRules, an_attended_run_is_refused_while_one_holds) {
  OwnBench bench{pump_off()};
  bench.run(70min);
  bench.inputs[0] = 0.0;
  bench.run(1min);
  const Answer answer = bench.command(RunAttended{Millilitres{10.0}});
  EXPECT_EQ(answer.verdict, kRefused);
  EXPECT_THAT(answer.sentence, HasSubstr("return-pump is off"));
}

TEST(OwnerRules, hours_go_by_the_clock_on_the_wall) {
  OwnerRule rule;
  rule.name = "night";
  rule.hours = HoursOfDay{22h, 6h};
  OwnBench bench{rule};
  const Duration noon = time_of_day(bench.now.wall);
  bench.now.wall += 36h - noon;
  bench.run(2s);
  EXPECT_FALSE(bench.held_for("rule-night"));
  bench.now.wall += 11h;
  bench.run(2s);
  EXPECT_TRUE(bench.held_for("rule-night"));
}

/// Any rule over the two inputs and the probes.
OwnerRule any_rule() {
  const auto any_test = [](std::size_t input) -> rules::Test {
    const auto limit = [&] {
      return input == OwnerRulebook::kPh            ? *rc::gen::element(8.1, 8.2, 8.205, 8.3)
             : input == OwnerRulebook::kTemperature ? *rc::gen::element(24.0, 25.0, 25.05, 26.0)
                                                    : *rc::gen::element(0.5, 10.0, 12.0, 18.0);
    };
    switch (*rc::gen::inRange(0, 6)) {
      case 0:
        return rules::Is{*rc::gen::element(rules::Is::State::off, rules::Is::State::on)};
      case 1:
        return rules::Above{limit()};
      case 2:
        return rules::Below{limit()};
      case 3: {
        const double low = limit();
        return rules::Outside{low, low + *rc::gen::element(0.5, 2.0)};
      }
      case 4:
        return rules::ClimbsBy{*rc::gen::element(0.01, 1.0), *rc::gen::element<Duration>(1min, 1h)};
      default:
        return rules::Silent{};
    }
  };
  OwnerRule rule;
  rule.name = "any";
  rule.join = *rc::gen::element(OwnerRule::Join::all, OwnerRule::Join::any);
  const int comparisons = *rc::gen::inRange(0, 4);
  for (int i = 0; i < comparisons; ++i) {
    const auto input = *rc::gen::inRange<std::size_t>(0, 4);
    rule.comparisons.push_back({input, any_test(input), *rc::gen::element(0.0, 0.1, 1.0)});
  }
  if (comparisons == 0 || *rc::gen::inRange(0, 3) == 0) {
    rule.hours =
        HoursOfDay{*rc::gen::element<Duration>(0h, 12h), *rc::gen::element<Duration>(6h, 20h)};
  }
  rule.lasting = *rc::gen::element<Duration>(0s, 5s, 1min);
  rule.release_after = *rc::gen::element<Duration>(0s, 5s, 1min);
  rule.release = *rc::gen::element(rules::Clears::by_itself, rules::Clears::by_person);
  rule.effect = *rc::gen::element(OwnerRule::Effect::hold, OwnerRule::Effect::alert);
  return rule;
}

std::vector<std::string> codes_of(const Station& core) {
  std::vector<std::string> codes;
  for (const rules::Hold& hold : core.holds()) {
    codes.push_back(rules::code_of(hold));
  }
  return codes;
}

/// Nothing is dosed in either, so that both have the same history throughout.
RC_GTEST_PROP(OwnerRules, a_rule_that_is_added_permits_a_subset, ()) {
  const std::vector<OwnerRule> before{latching()};
  std::vector<OwnerRule> after = before;
  after.push_back(any_rule());
  Settings without = with(before);
  without.plan.day_volume = Millilitres{0.0};
  without.limits.settle = 2min;
  Settings added = without;
  added.owner.rules = after;
  Bench one{without};
  Bench other{added};
  one.run(20min);
  other.run(20min);
  RC_ASSERT(one.held_for("rule-pump-off-unknown"));
  int open = 0;
  for (int i = 0; i < 60; ++i) {
    for (std::size_t input = 0; input < 2; ++input) {
      const std::vector<std::optional<double>> usual{1.0, 12.0};
      std::optional<double> value = usual[input];
      if (*rc::gen::inRange(0, 10) == 0) {
        value = *rc::gen::element<std::optional<double>>(std::nullopt, 0.0, 1.0, 11.5, 18.5,
                                                         std::nan(""), HUGE_VAL);
      }
      one.see(InputSample{kPump + input, value});
      other.see(InputSample{kPump + input, value});
    }
    if (*rc::gen::inRange(0, 10) == 0) {
      one.ph = other.ph = *rc::gen::element(8.1, 8.2, 8.3);
    }
    if (*rc::gen::inRange(0, 10) == 0) {
      const Duration jump = *rc::gen::element<Duration>(-3h, 1s, 6h);
      one.now.wall += jump;
      other.now.wall += jump;
    }
    if (*rc::gen::inRange(0, 10) == 0) {
      (void)one.command(Release{"rule-pump-off"});
      (void)other.command(Release{"rule-pump-off"});
    }
    const int seconds = *rc::gen::element(1, 1, 1, 5, 12);
    for (int second = 0; second < seconds; ++second) {
      one.second();
      other.second();
      RC_ASSERT(other.core.gate_open() <= one.core.gate_open());
      RC_ASSERT(codes_of(one.core).size() <= codes_of(other.core).size());
      for (const std::string& code : codes_of(one.core)) {
        RC_ASSERT(other.held_for(code));
      }
      open += one.core.gate_open() ? 1 : 0;
    }
  }
  RC_TAG(open > 0 ? "open at times" : "never open");
}

TEST(OwnerRules, that_only_watch_a_climb_after_a_start_call_nobody) {
  OwnerRule rule;
  rule.name = "level-climbs";
  rule.comparisons = {{kLevel, rules::ClimbsBy{3, 30min}}};
  OwnBench bench{rule};
  bench.run(30min - 1s);
  EXPECT_TRUE(bench.held_for("rule-level-climbs-unknown"));
  EXPECT_EQ(bench.raised("long-rule-level-climbs-unknown"), 0U);
  bench.run(5s);
  EXPECT_FALSE(bench.held_for("rule-level-climbs-unknown"));
  // One that is not heard does.
  bench.inputs.clear();
  bench.run(11min);
  EXPECT_EQ(bench.raised("long-rule-level-climbs-unknown"), 1U);
}

}  // namespace
}  // namespace limegate::station
