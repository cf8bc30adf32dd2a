// The row of every hold, field by field.

#include <algorithm>
#include <bit>
#include <cstdint>
#include <limits>
#include <ostream>
#include <set>
#include <string>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "rules/hold_row.h"
#include "rules/scene.h"

namespace limegate::rules {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

struct Case {
  const char* code;
  Hold hold;
  std::vector<std::string> says;  ///< its numbers, as people read them
  struct Does {
    Clears clears = Clears::by_itself;
    Reach reach = Reach::ends_pulse;
    Person person = Person::not_needed;
    Teaches teaches = Teaches::yes;
    Flow flow = Flow::as_commanded;
    bool Memory::*remembered = nullptr;
    const char* limit_key = "";
    const char* refused = "";  ///< why it can't be released while nothing is known; empty: it can
  } does = {};
};
void PrintTo(const Case& row, std::ostream* out) { *out << row.code; }

const Case kCases[] = {
    {"stirrer-running", StirrerRunning{}, {"stirrer runs"}},
    {"stirrer-unknown", StirrerUnknown{}, {"not known to rest"}, {.person = Person::if_it_lasts}},
    {"settling", Settling{40min}, {"40 min"}, {.limit_key = "limits.settle_min"}},
    {"ph-missing", ProbeMissing{Role::ph}, {"the pH probe"}, {.person = Person::if_it_lasts}},
    {"second-ph-missing",
     ProbeMissing{Role::second_ph},
     {"the second pH probe"},
     {.person = Person::if_it_lasts}},
    {"second-ph-stale",
     ProbeStale{Role::second_ph, 42s, 10s},
     {"second pH probe", "42 s"},
     {.person = Person::if_it_lasts, .limit_key = "limits.reading_age_s"}},
    {"second-ph-implausible",
     ProbeImplausible{Role::second_ph, 6.12, 7.0, 9.2},
     {"second pH probe", "6.12", "7.00", "9.20"},
     {.person = Person::if_it_lasts, .limit_key = "limits.ph_plausible_low"}},
    {"second-ph-stuck",
     ProbeStuck{Role::second_ph, 8.21, 200min},
     {"second pH probe", "8.21"},
     {.person = Person::if_it_lasts, .limit_key = "limits.ph_stuck_after_min"}},
    {"ph-probes-disagree",
     ProbesDisagree{Ph{8.21}, Ph{8.34}, PhChange{0.10}, 30min},
     {"8.21", "8.34", "0.10", "0.15", "30 min"},
     {.person = Person::if_it_lasts,
      .remembered = &Memory::disagreement_tripped,
      .limit_key = "limits.ph_disagreement"}},
    {"temperature-missing",
     ProbeMissing{Role::temperature},
     {"the temperature probe"},
     {.person = Person::if_it_lasts}},
    {"ph-stale",
     ProbeStale{Role::ph, 42s, 10s},
     {"the pH probe", "42 s", "10 s"},
     {.person = Person::if_it_lasts, .limit_key = "limits.reading_age_s"}},
    {"temperature-stale",
     ProbeStale{Role::temperature, 43s, 11s},
     {"temperature", "43 s", "11 s"},
     {.person = Person::if_it_lasts, .limit_key = "limits.reading_age_s"}},
    {"ph-not-a-number",
     ProbeNotANumber{Role::ph},
     {"pH probe", "not a number"},
     {.person = Person::if_it_lasts}},
    {"temperature-not-a-number",
     ProbeNotANumber{Role::temperature},
     {"temperature probe"},
     {.person = Person::if_it_lasts}},
    {"ph-implausible",
     ProbeImplausible{Role::ph, 6.12, 7.0, 9.2},
     {"6.12", "7.00", "9.20"},
     {.person = Person::if_it_lasts, .limit_key = "limits.ph_plausible_low"}},
    {"temperature-implausible",
     ProbeImplausible{Role::temperature, 41.5, 15.0, 35.0},
     {"41.5", "15.0", "35.0"},
     {.person = Person::if_it_lasts, .limit_key = "limits.temperature_low_c"}},
    {"ph-stuck",
     ProbeStuck{Role::ph, 8.21, 200min},
     {"8.21", "3 h 20 min"},
     {.person = Person::if_it_lasts, .limit_key = "limits.ph_stuck_after_min"}},
    {"temperature-stuck",
     ProbeStuck{Role::temperature, 25.1, 200min},
     {"25.1", "3 h 20 min"},
     {.person = Person::if_it_lasts, .limit_key = "limits.temperature_stuck_after_min"}},
    {"ph-unsteady",
     ProbeUnsteady{Role::ph, 3min},
     {"pH probe", "3 min"},
     {.limit_key = "limits.ph_jump"}},
    {"temperature-unsteady",
     ProbeUnsteady{Role::temperature, 3min},
     {"temperature", "3 min"},
     {.limit_key = "limits.temperature_jump_c"}},
    {"ph-disturbed", ProbeDisturbed{17s}, {"17 s"}, {.reach = Reach::before_pulse}},
    {"not-yet-proven", NotYetProven{4min}, {"4 min"}, {.limit_key = "limits.proven_min"}},
    {"ph-ceiling",
     CeilingReached{Ph{8.47}, Ph{8.45}, Ph{8.40}},
     {"8.47", "8.45", "8.40"},
     {.teaches = Teaches::no,
      .remembered = &Memory::ceiling_tripped,
      .limit_key = "limits.ph_ceiling"}},
    {"ph-second-ceiling",
     SecondCeilingReached{Ph{8.63}, Ph{8.60}},
     {"8.63", "8.60", "release"},
     {.clears = Clears::by_person,
      .teaches = Teaches::no,
      .flow = Flow::perhaps_uncommanded,
      .remembered = &Memory::second_ceiling_latched,
      .limit_key = "limits.ph_second_ceiling",
      .refused = "no good pH reading below"}},
    {"ph-climbing",
     Climbing{PhChange{0.14}, PhChange{0.12}, 30min},
     {"0.14", "0.12", "30 min"},
     {.teaches = Teaches::no,
      .remembered = &Memory::climb_tripped,
      .limit_key = "limits.ph_climb"}},
    {"ph-climb-unknown",
     ClimbUnknown{24min, 30min},
     {"24 min", "30 min"},
     {.limit_key = "limits.ph_climb_window_min"}},
    {"ph-unusual-climb",
     UnusualClimb{PhChange{0.09}, PhChange{0.08}, PhChange{0.12}, signal::Pace::slow},
     {"0.09 within 2 h 00 min", "0.080", "usual course"},
     {.teaches = Teaches::no,
      .remembered = &Memory::unusual_climb_tripped,
      .limit_key = "limits.ph_unusual_climb"}},
    {"ph-climb-goes-on",
     ClimbGoesOn{PhChange{0.05}, 15min},
     {"0.05", "15 min", "siphon", "release"},
     {.clears = Clears::by_person,
      .teaches = Teaches::no,
      .flow = Flow::perhaps_uncommanded,
      .remembered = &Memory::climb_goes_on_latched,
      .refused = "still climbing"}},
    {"ph-risen",
     Risen{PhChange{0.23}, PhChange{0.20}, PhChange{0.15}},
     {"0.23", "0.20", "0.15", "reference"},
     {.remembered = &Memory::risen_tripped, .limit_key = "limits.ph_rise"}},
    {"effect-too-large",
     EffectTooLarge{2.34, 1.7},
     {"2.3", "1.7", "release"},
     {.clears = Clears::by_person, .remembered = &Memory::effect_too_large_latched}},
    {"alkalinity-too-high",
     AlkalinityTooHigh{Dkh{11.8}, Dkh{11.0}},
     {"11.8", "11.0", "limegate record"},
     {.clears = Clears::by_person,
      .remembered = &Memory::alkalinity_latched,
      .limit_key = "limits.alkalinity_max_dkh",
      .refused = "no newer test of alkalinity"}},
    {"timer-step-too-long",
     TimerStepTooLong{Millilitres{16.7}, Millilitres{12.3}},
     {"16.7", "12.3", "timer"},
     {.reach = Reach::before_pulse, .limit_key = "plan.max_pulse_rise_ph"}},
    {"hour-allowance-spent",
     HourAllowanceSpent{Millilitres{35.5}, Millilitres{10.2}, Millilitres{40.1}},
     {"35.5", "10.2", "40.1", "hour"},
     {.reach = Reach::before_pulse, .limit_key = "limits.max_hour_ml"}},
    {"day-allowance-spent",
     DayAllowanceSpent{Millilitres{395.5}, Millilitres{10.2}, Millilitres{400.1}},
     {"395.5", "10.2", "400.1", "24 h"},
     {.reach = Reach::before_pulse, .limit_key = "limits.max_day_ml"}},
    {"paused", Paused{90min}, {"90 min"}},
    {"disk-slow", DiskSlow{50s}, {"disk", "50 s"}},
    {"ledger-not-writable", LedgerNotWritable{"disk full"}, {"disk full"}},
    {"pump-unconfirmed",
     OutletUnconfirmed{OutletRole::pump},
     {"pump"},
     {.person = Person::if_it_lasts, .flow = Flow::perhaps_uncommanded}},
    {"stirrer-unconfirmed",
     OutletUnconfirmed{OutletRole::stirrer},
     {"stirrer"},
     {.person = Person::if_it_lasts}},
    {"pump-stuck-on",
     OutletStuckOn{OutletRole::pump},
     {"pump", "release"},
     {.clears = Clears::by_person,
      .flow = Flow::perhaps_uncommanded,
      .remembered = &Memory::pump_stuck_latched,
      .refused = "the pump is not confirmed"}},
    {"stirrer-stuck-on",
     OutletStuckOn{OutletRole::stirrer},
     {"stirrer", "release"},
     {.clears = Clears::by_person,
      .remembered = &Memory::stirrer_stuck_latched,
      .refused = "the stirrer is not confirmed"}},
    {"stir-overdue",
     StirOverdue{},
     {"stirrer", "input"},
     {.person = Person::if_it_lasts, .limit_key = "stirrer.every_min"}},
    {"stir-endless",
     StirEndless{},
     {"stirrer", "input"},
     {.person = Person::if_it_lasts, .limit_key = "stirrer.every_min"}},
    {"pump-found-on",
     OutletFoundOn{OutletRole::pump},
     {"pump", "release"},
     {.clears = Clears::by_person,
      .flow = Flow::perhaps_uncommanded,
      .remembered = &Memory::pump_found_latched,
      .refused = "the pump is not confirmed"}},
    {"stirrer-found-on",
     OutletFoundOn{OutletRole::stirrer},
     {"stirrer", "release"},
     {.clears = Clears::by_person,
      .remembered = &Memory::stirrer_found_latched,
      .refused = "the stirrer is not confirmed"}},
    {"pump-timer-failed",
     PumpTimerFailed{},
     {"timer", "release"},
     {.clears = Clears::by_person,
      .remembered = &Memory::pump_timer_latched,
      .refused = "the pump is not confirmed"}},
    {"switched-off",
     SwitchedOff{},
     {"limegate off", "release"},
     {.clears = Clears::by_person,
      .remembered = &Memory::switched_off_latched,
      .refused = "the pump is not confirmed"}},
    {"record",
     RecordLost{},
     {"both", "release"},
     {.clears = Clears::by_person, .remembered = &Memory::record_latched}},
    {"from-the-future",
     UnknownLatch{"from-the-future"},
     {"from-the-future", "release"},
     {.clears = Clears::by_person}},
    {"rule-feeding", OwnerHold{"feeding", "It is fed.", OwnerHold::Why::met}, {"It is fed."}},
    {"rule-leak-unknown",
     OwnerHold{"leak", "Unknown.", OwnerHold::Why::unknown},
     {"Unknown."},
     {.person = Person::if_it_lasts}},
    {"rule-leak",
     OwnerHold{"leak", "Wet.", OwnerHold::Why::latched},
     {"Wet."},
     {.clears = Clears::by_person}},
    {"second-ph-not-a-number",
     ProbeNotANumber{Role::second_ph},
     {"second pH probe"},
     {.person = Person::if_it_lasts}},
    {"second-ph-unsteady",
     ProbeUnsteady{Role::second_ph, 3min},
     {"second pH probe", "3 min"},
     {.limit_key = "limits.ph_jump"}},
};

class HoldTable : public testing::TestWithParam<Case> {};

TEST(HoldSentence, of_a_ph_that_was_never_read_since_the_start_names_no_number) {
  for (const Hold& hold : {Hold{CeilingReached{std::nullopt, Ph{8.45}, Ph{8.40}}},
                           Hold{SecondCeilingReached{std::nullopt, Ph{8.60}}},
                           Hold{Climbing{std::nullopt, PhChange{0.12}, 30min}}}) {
    EXPECT_THAT(sentence_of(hold), testing::HasSubstr("known"))
        << "not known, or an unknown amount";
    EXPECT_THAT(sentence_of(hold), testing::Not(testing::HasSubstr("0.00")));
  }
}

TEST(HoldSentence, of_an_absurd_reading_names_what_the_file_has_wrong) {
  const auto sentence = [](Role role, double value) {
    return sentence_of(ProbeImplausible{role, value, 7.0, 9.2});
  };
  // 8.12 is 4101EB85 as a float32 (IEEE 754); so it is read with its words swapped.
  EXPECT_EQ(sentence(Role::ph, double{std::bit_cast<float>(0xEB854101U)}),
            "The pH probe shows pH -3.2e+26, outside the plausible pH 7.00 to pH 9.20. The "
            "word_order of its registers is likely another one, or their encoding.");
  for (const std::uint32_t swapped : {0x014185EBU, 0x85EB4101U}) {
    const double shown{std::bit_cast<float>(swapped)};
    EXPECT_THAT(sentence(Role::ph, shown), testing::HasSubstr("word_order"));
    EXPECT_THAT(sentence(Role::temperature, shown), testing::HasSubstr("word_order"));
  }
  EXPECT_THAT(sentence(Role::ph, 812.0), testing::HasSubstr("pH 812.00, "));
  EXPECT_THAT(sentence(Role::ph, 812.0), testing::HasSubstr("scale"));
  EXPECT_THAT(sentence(Role::temperature, 255.0), testing::HasSubstr("scale"));
  // What water or a probe can show by themselves: an open input, a dry probe, a heater gone wild.
  for (const double possible : {0.0, 6.12, 14.0}) {
    EXPECT_THAT(sentence(Role::ph, possible), testing::Not(testing::HasSubstr("likely")))
        << possible;
  }
  EXPECT_THAT(sentence(Role::temperature, 41.5), testing::Not(testing::HasSubstr("likely")));
}

TEST(HoldSentence, of_an_effect_that_was_seen_before_the_start_names_no_number_it_does_not_know) {
  EXPECT_THAT(sentence_of(EffectTooLarge{std::nullopt, 1.7}), testing::HasSubstr("by far more"));
}

TEST_P(HoldTable, has_its_released_code_and_a_sentence_with_its_numbers) {
  const Case& row = GetParam();
  EXPECT_EQ(code_of(row.hold), row.code);
  const std::string sentence = sentence_of(row.hold);
  EXPECT_EQ(sentence.back(), '.') << sentence;
  for (const std::string& part : row.says) {
    EXPECT_THAT(sentence, testing::HasSubstr(part));
  }
}
TEST_P(HoldTable, says_what_it_does) {
  const auto& [code, hold, says, does] = GetParam();
  EXPECT_EQ(clears(hold), does.clears);
  EXPECT_EQ(reach(hold), does.reach);
  EXPECT_EQ(person(hold), does.person);
  EXPECT_EQ(teaches(hold), does.teaches);
  EXPECT_EQ(flow(hold), does.flow);
  EXPECT_EQ(limit_key(hold), does.limit_key);
}
TEST_P(HoldTable, is_remembered_by_its_flag_with_what_its_row_says) {
  const auto& [code, hold, says, does] = GetParam();
  const auto one =
      std::find_if(remembered().begin(), remembered().end(),
                   [&](const Remembered& kept) { return kept.code == GetParam().code; });
  if (does.remembered == nullptr) {
    EXPECT_TRUE(one == remembered().end());
    return;
  }
  ASSERT_TRUE(one != remembered().end());
  EXPECT_EQ(one->flag, does.remembered);
  EXPECT_EQ(code_of(one->hold), code);
  EXPECT_EQ(one->clears, does.clears);
  EXPECT_EQ(one->teaches, does.teaches);
  EXPECT_EQ(one->flow, does.flow);
}
TEST_P(HoldTable, stays_while_its_cause_may_be_there_and_only_then) {
  const auto& [code, hold, says, does] = GetParam();
  const Snapshot nothing;
  const std::string why = still_there(hold, {nothing, Memory{}, Limits{}});
  EXPECT_EQ(why.empty(), std::string{does.refused}.empty()) << why;
  EXPECT_THAT(why, testing::HasSubstr(does.refused));
  const Scene calm;
  Snapshot mended = calm.known;
  mended.pump_flow = Snapshot::PumpFlow::none;
  mended.alkalinity = TestedAlkalinity{Dkh{8.0}, 24h};
  EXPECT_EQ(still_there(hold, {mended, calm.memory, calm.limits}), "");
}

// A test that lets it go is below the limit, and neither too old nor dated later than now.
TEST(AlkalinityTooHigh, is_released_by_a_test_that_counts) {
  const auto stays = [](double dkh, Duration age) {
    Scene scene;
    scene.known.alkalinity = TestedAlkalinity{Dkh{dkh}, age};
    return !still_there(AlkalinityTooHigh{}, {scene.known, scene.memory, scene.limits}).empty();
  };
  constexpr Duration days = 24h * 14;
  EXPECT_FALSE(stays(10.999, 1h));
  EXPECT_TRUE(stays(11.0, 1h));
  EXPECT_TRUE(stays(11.001, 1h));
  EXPECT_TRUE(stays(std::numeric_limits<double>::quiet_NaN(), 1h));
  EXPECT_FALSE(stays(8.0, 0s));
  EXPECT_TRUE(stays(8.0, -1ns));
  EXPECT_FALSE(stays(8.0, days));
  EXPECT_TRUE(stays(8.0, days + 1ns));
}
INSTANTIATE_TEST_SUITE_P(, HoldTable, testing::ValuesIn(kCases), [](const auto& row) {
  std::string name = row.param.code;
  std::replace(name.begin(), name.end(), '-', '_');
  return name;
});

// A row lacks nothing: one without its last field, or with two of them changed round, is none.
template <class... Parts>
constexpr bool kMakesARow = requires(Parts... parts) {
  HoldRow<Settling>{parts...};
};
constexpr bool kWhole = kMakesARow<const char*, Clears, Reach, Person, Teaches, Flow,
                                   std::nullptr_t, std::nullptr_t, const char*, const char*>;
constexpr bool kShort = kMakesARow<const char*, Clears, Reach, Person, Teaches, Flow,
                                   std::nullptr_t, std::nullptr_t, const char*>;
constexpr bool kChanged = kMakesARow<const char*, Reach, Clears, Person, Teaches, Flow,
                                     std::nullptr_t, std::nullptr_t, const char*, const char*>;
static_assert(kWhole && !kShort && !kChanged);

TEST(Hold, of_what_a_person_clears_none_is_told_as_lasting_and_all_end_a_pulse) {
  for (const Case& row : kCases) {
    if (row.does.clears == Clears::by_person) {
      EXPECT_EQ(person(row.hold), Person::not_needed) << row.code << ": it is told at once";
      EXPECT_EQ(reach(row.hold), Reach::ends_pulse) << row.code;
    }
  }
}

TEST(Hold, sentences_begin_with_a_capital_letter_or_pH) {
  for (const Case& row : kCases) {
    const std::string sentence = sentence_of(row.hold);
    EXPECT_TRUE((sentence[0] >= 'A' && sentence[0] <= 'Z') ||
                (sentence[0] >= '0' && sentence[0] <= '9') || sentence.rfind("pH", 0) == 0)
        << sentence;
  }
}

TEST(Hold, every_kind_has_a_row_and_codes_are_unique_and_well_formed) {
  std::set<std::size_t> kinds;
  std::set<std::string> codes;
  for (const Case& row : kCases) {
    kinds.insert(row.hold.index());
    const std::string code = code_of(row.hold);
    EXPECT_TRUE(codes.insert(code).second) << code;
    EXPECT_EQ(code.find_first_not_of("abcdefghijklmnopqrstuvwxyz0123456789-"), std::string::npos);
  }
  EXPECT_EQ(kinds.size(), std::variant_size_v<AnyReason>);
}

TEST(Hold, a_record_that_is_missing_is_not_shown_as_a_volume) {
  const std::string sentence =
      sentence_of(DayAllowanceSpent{kCountsAsFull, Millilitres{10.0}, Millilitres{400.0}});
  EXPECT_THAT(sentence, testing::HasSubstr("missing or damaged"));
  EXPECT_EQ(sentence.find("1000000000"), std::string::npos) << sentence;
}

TEST(Hold, a_climb_that_cant_be_seen_now_is_not_shown_as_a_number) {
  const std::string sentence = sentence_of(UnusualClimb{{}, PhChange{0.06}, PhChange{0.03}});
  EXPECT_THAT(sentence, testing::HasSubstr("now by an unknown amount"));
}

TEST(Hold, an_unusual_climb_is_told_as_the_judge_sees_it_that_is_furthest_beyond_its_limit) {
  const auto sentence = [](signal::Pace pace) {
    return sentence_of(UnusualClimb{PhChange{0.1}, PhChange{0.08}, PhChange{0.12}, pace});
  };
  EXPECT_THAT(sentence(signal::Pace::quick),
              testing::HasSubstr("now by 0.05 beyond 0.12 an hour; less than 0.043 is allowed"));
  EXPECT_THAT(sentence(signal::Pace::slow),
              testing::HasSubstr("now by 0.10 within 2 h 00 min; less than 0.080 is allowed"));
  EXPECT_THAT(sentence(signal::Pace::lasting),
              testing::HasSubstr("now by 0.15 above the mean of two days; less than 0.120"));
}

TEST(ForPeople, rounds_up_and_changes_unit_at_two) {
  EXPECT_EQ(for_people(0s), "0 s");
  EXPECT_EQ(for_people(1ns), "1 s");
  EXPECT_EQ(for_people(119s), "119 s");
  EXPECT_EQ(for_people(119s + 1ns), "2 min");
  EXPECT_EQ(for_people(120s), "2 min");
  EXPECT_EQ(for_people(119min), "119 min");
  EXPECT_EQ(for_people(119min + 1ns), "2 h 00 min");
  EXPECT_EQ(for_people(125min), "2 h 05 min");
}

}  // namespace
}  // namespace limegate::rules
